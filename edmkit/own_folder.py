"""The user's own work materials in the user's own folder, one small file each.

The folder lies outside the package, so that it outlives updates. It is looked at anew each time:
what another page saves is there at once.
"""

import json
import os
from functools import lru_cache, partial
from pathlib import Path

from edmkit import toml_file
from edmkit.checks import Refusal, one_of
from edmkit.home import home, write_whole
from edmkit.own_material import (
    ASSUMED,
    LIMITS,
    NEEDED,
    ends_assumed,
    families,
    is_own,
    make_material,
    number_of,
    ranges_of,
)
from edmkit.substances import SI, folded

_FOLDER = "materials"
_FIRST_LINE = "# A work material of the user's own: value, or [value, lowest, highest]."


def _place(folder):
    return home() / _FOLDER if folder is None else Path(folder)


def _listing(folder):
    """Return name, times, size and number of each file: what changes when one is saved."""
    try:
        with os.scandir(folder) as entries:
            files = [entry for entry in entries if entry.name.endswith(".toml")]
            stats = [(entry.name, os.stat(entry.path)) for entry in files]
    except FileNotFoundError:
        return ()
    return tuple(sorted((n, s.st_mtime_ns, s.st_ctime_ns, s.st_size, s.st_ino) for n, s in stats))


@lru_cache(8)
def _loaded(folder, listing):
    """Return the materials of a folder, and a sentence for each file that holds none."""
    found, faults = {}, []
    for name, *_ in listing:
        path = folder / name
        try:
            found[path.stem] = toml_file.read_toml(path, partial(_from_file, path.stem))
        except Refusal as refusal:
            faults.append(str(refusal))
    return found, tuple(faults)


def _look(folder):
    folder = _place(folder)
    try:
        return _loaded(folder, _listing(folder))
    except OSError as fault:
        return {}, (f"The folder {folder} cannot be read: {fault.strerror}.",)


def own_materials(folder=None):
    """Return the user's own work materials as they lie in the folder now, a dict key -> `Material`.

    Parameters
    ----------
    folder : str, Path or None
        None is the folder ``materials`` of the user's own.
    """
    return dict(_look(folder)[0])


def complaints(folder=None):
    """Return a sentence for each file in the folder that holds no material, a tuple of str."""
    return _look(folder)[1]


def _entry(heading):
    """Return a check for a number, or for ``[number, lowest, highest]``."""

    def check(key, value):
        if isinstance(value, list) and len(value) == 3:
            number = number_of(heading, value[0])
            ranges_of({heading: tuple(value[1:])}, {heading: number})
            return value
        return [number_of(heading, value)]

    return check


def _from_file(stem, key, table):
    """Return the material of a file's top-level table, or refuse with all its faults."""
    schema = {h: _entry(h) if h in NEEDED else (_entry(h),) for h in LIMITS}
    texts = {"name": toml_file.text, "family": toml_file.word(*families())}
    more = {"hardness": (toml_file.text,), "toxic_elements": (_list_of_texts,)}
    fields = toml_file.table({**texts, "source": toml_file.text, **schema, **more})(key, table)
    numbers = {h: fields.pop(h) for h in LIMITS if h in fields}
    ranges = {h: tuple(entry[1:]) for h, entry in numbers.items() if entry[1:]}
    made = make_material(**fields, **{h: entry[0] for h, entry in numbers.items()}, ranges=ranges)
    if made.key != stem:
        raise Refusal(f"name must be that of its file, got {made.name!r}: call it {made.key}.toml.")
    return made


def _list_of_texts(key, value):
    if not isinstance(value, list):
        raise Refusal(f'{key} must be a list such as ["cobalt"], got {value!r}.')
    return tuple(toml_file.text(f"{key}[{i}]", element) for i, element in enumerate(value))


def _text(material):
    """Return the file of a material; JSON writes texts and numbers as TOML reads them."""
    source = next(iter(material.properties.values())).source.removesuffix(ASSUMED)
    texts = {"name": material.name, "family": material.family, "source": source}
    if material.hardness:
        texts["hardness"] = material.hardness
    texts["toxic_elements"] = list(material.contains)
    for heading in LIMITS:
        name, factor, offset = SI[heading]
        found = material.properties.get(name)
        if found is not None:
            ends = (found.value, found.low, found.high)
            numbers = [float(f"{(end - offset) / factor:.10g}") for end in ends]
            assumed = tuple(numbers[1:]) == ends_assumed(numbers[0])
            texts[heading] = numbers[0] if assumed else numbers
    lines = (f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in texts.items())
    return "\n".join((_FIRST_LINE, *lines)) + "\n"


def save_material(material, folder=None):
    """Keep an own material in the folder and return the path of its file.

    Parameters
    ----------
    material : Material
        From `make_material`. One of the same name is replaced.
    folder : str, Path or None
        None is the folder ``materials`` of the user's own.

    Raises
    ------
    Refusal
        If it is not an own material, its name is too near another's, or the disk refuses.
    """
    text = _text(material) if is_own(material) else ""
    path = _place(folder) / f"{material.key}.toml"
    if not text or toml_file.read_toml_text(text, partial(_from_file, path.stem), "") != material:
        raise Refusal(f"material must be made by make_material, got {material.name!r}.")
    _free(material, path)
    return write_whole(path, text, material.name)


def _free(material, path):
    """Refuse a name that another own material has in another spelling, or a broken file's place."""
    own = own_materials(path.parent)
    for other in own.values():
        if (other.key == material.key) != (folded(other.name) == folded(material.name)):
            raise Refusal(
                f"name must differ more from {other.name!r}, got {material.name!r}: add a word."
            )
    if material.key not in own and path.exists():
        raise Refusal(f"{path} is there and cannot be read: mend it or delete it, then save.")


def table_path(key, folder=None):
    """Return where the crater table of an own material is kept."""
    return _place(folder) / f"craters_{key}.csv"


def remove_material(key, folder=None):
    """Delete an own material and its crater table.

    Parameters
    ----------
    key : str
        A key of `own_materials`.
    folder : str, Path or None
        None is the folder ``materials`` of the user's own.

    Raises
    ------
    Refusal
        If there is none of this key, or the disk refuses.
    """
    one_of("key", key, own_materials(folder), "it is not one of your own materials")
    path = _place(folder) / f"{key}.toml"
    try:
        path.unlink()
        table_path(key, folder).unlink(missing_ok=True)
    except OSError as fault:
        raise Refusal(f"{path} was not deleted: {fault.strerror}.") from None
