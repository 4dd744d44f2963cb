"""Where the kit keeps what belongs to its user: outside the package, and so past its updates."""

import os
from contextlib import suppress
from pathlib import Path

from edmkit.checks import Refusal


def home():
    """Return the kit's folder of this user; ``EDMKIT_HOME`` overrides it."""
    if os.environ.get("EDMKIT_HOME"):
        return Path(os.environ["EDMKIT_HOME"])
    import platformdirs

    return Path(platformdirs.user_data_dir("edmkit", appauthor=False))


def write_whole(path, text, what):
    """Write a text file that is either whole or as it was before, and return its path.

    Parameters
    ----------
    path : Path
        The file; its folder is made where it is missing.
    text : str
        What is to be in it.
    what : str
        What it is called in a complaint: "the answers".

    Raises
    ------
    Refusal
        If the disk refuses; what was there before is untouched.
    """
    beside = path.with_suffix(f".{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        beside.write_text(text, encoding="utf-8", newline="\n")
        os.replace(beside, path)
    except OSError as fault:
        with suppress(OSError):
            beside.unlink(missing_ok=True)
        raise Refusal(
            f"{what} was not saved in {path.parent}: {fault.strerror}. Make room there, or allow "
            "writing."
        ) from None
    return path
