"""The answers about each machine in the user's own folder, one small file each, kept at once."""

import json
import os
import re
from contextlib import suppress
from dataclasses import asdict
from pathlib import Path

from edmkit.checks import Refusal
from edmkit.dials.survey import survey_from
from edmkit.home import home, write_whole
from edmkit.machine_text import file_stem

_FOLDER, _END = "dials", ".json"


def _place(folder):
    return home() / _FOLDER if folder is None else Path(folder)


def path_of(name, folder=None):
    """Return where the answers about a machine are kept.

    Parameters
    ----------
    name : str
        What the machine is called; letters, digits and spaces of it make the file's name.
    folder : str, Path or None
        None is the folder ``dials`` of the user's own.

    Raises
    ------
    Refusal
        If nothing of the name can stand in a file's name.
    """
    if not re.search(r"[^\W_]", name):
        raise Refusal(
            f"name must have letters or digits, got {name!r}: call the machine something."
        )
    return _place(folder) / f"{file_stem(name)}{_END}"


def save_survey(survey, folder=None):
    """Keep what was told of a machine and return the path of the file.

    Parameters
    ----------
    survey : Survey
        Everything told so far; it takes the place of what was kept of the same machine.
    folder : str, Path or None
        None is the folder ``dials`` of the user's own.

    Raises
    ------
    Refusal
        If another machine's answers lie there, or the disk refuses.
    """
    path = path_of(survey.name, folder)
    other = _named(path)
    if other is not None and other != survey.name:
        raise Refusal(f"name must differ more from {other!r}, got {survey.name!r}: add a word.")
    if other is None and path.exists():
        _set_aside(path)
    told = json.dumps(asdict(survey), indent=1)
    return write_whole(path, told, f"what was told of {survey.name}")


def _named(path):
    """Return what the machine of a file is called, None where none can be read."""
    with suppress(OSError, ValueError, AttributeError):
        return json.loads(path.read_text(encoding="utf-8")).get("name")
    return None


def load_survey(name, folder=None):
    """Return what was told of a machine.

    Parameters
    ----------
    name : str
        What the machine is called.
    folder : str, Path or None
        None is the folder ``dials`` of the user's own.

    Raises
    ------
    Refusal
        If the file is not there or broken: a broken one is set aside under another name, and the
        sentence says where.
    """
    path = path_of(name, folder)
    try:
        return survey_from(json.loads(path.read_text(encoding="utf-8")))
    except OSError as fault:
        raise Refusal(f"{path} cannot be read: {fault.strerror}.") from None
    except ValueError as fault:
        raise Refusal(f"{path} cannot be used ({fault}); {_set_aside(path)}.") from None


def _set_aside(path):
    number = 1
    while (aside := path.with_suffix(f".{number}.broken")).exists():
        number += 1
    try:
        os.replace(path, aside)
    except OSError:
        return "it could not be set aside"
    return f"it was set aside as {aside}"


def surveyed(folder=None):
    """Return the names of the machines of which something was told, in alphabetical order.

    Parameters
    ----------
    folder : str, Path or None
        None is the folder ``dials`` of the user's own.
    """
    names = (_named(path) for path in sorted(_place(folder).glob(f"*{_END}")))
    return tuple(name for name in names if name)
