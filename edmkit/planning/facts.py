"""A sentence for the shop together with the kind of source it stands on."""

from dataclasses import dataclass

# What a source word means, as the pages say it.
SOURCES = {
    "written rule": "a fire ordinance, insurers' guidance, or a university's workshop rules",
    "published": "a scientific paper or a trade page that was read",
    "common practice": "what the trade does; no source was found",
    "from memory": "written down without a source at hand; check it before you rely on it",
}


@dataclass(frozen=True)
class Fact:
    """One sentence and its source word, one of `SOURCES`."""

    text: str
    source: str
