"""A machine as the text of a machine file, and the user's own folder of such files."""

import json
import re
from contextlib import suppress
from dataclasses import replace
from itertools import count
from pathlib import Path

from edmkit.checks import Refusal
from edmkit.home import home, write_whole
from edmkit.machine import Machine, machine_from_text, read_machine
from edmkit.switches import HOW_KNOWN_SPREAD, LADDER

_HEAD = """\
# A machine file: what the positions of the switches are worth, and how well that is known:
#   measured  with a meter or an oscilloscope
#   plate     printed on the machine or in its book
#   guessed   from experience
#   unknown   filled in from its neighbours where the value is left out; the band gets wider
# spread is the standard deviation of the value's logarithm: about its error as a share of it."""
_REMARKS = {
    "on_time_counts": '"from breakdown", or "in a fixed period": waiting for the spark counts too',
    "plate_current": '"short circuit" or "spark": what the amps of the positions mean',
    "driving_voltage_V": "drives the current; a higher one starts the spark",
    "current_caution_A_per_cm2": "the shop's own rule",
    "switches": "several may be on together",
}
_TEXTS = ("name", "note", "on_time_counts", "plate_current", "polarity_switch",
          "driving_voltage_V", "current_rise_A_per_us", "current_caution_A_per_cm2",
          "ammeter_max_A", "voltmeter_max_V")  # fmt: skip
_TABLES = {
    "lift": ("burn_s", "up_s"),
    "servo": ("lowest", "highest"),
    "resolution": ("dial_mm", "stop_mm"),
    "flushing": ("kinds", "suction_kPa_max", "pressure_kPa_max"),
}
_SILENT = {"note": "", "current_rise_A_per_us": Machine.current_rise_A_per_us}  # as if left out
_LONGEST = 60  # letters of a file's name


def machine_text(machine):
    """Return the text of the machine file that describes a machine.

    Parameters
    ----------
    machine : Machine
        Written exactly; whoever made its values rounds them to what they are worth.

    Notes
    -----
    The inverse of `read_machine`: what is read from the text is the machine, its ``path`` left
    out. Positions that were filled in are written without a value, a spread only where it is not
    the usual one of how the value is known.

    References
    ----------
    TOML 1.0, whose basic strings and numbers are written as JSON writes them.
    """
    lines = [_HEAD, *(_line(key, getattr(machine, key)) for key in _TEXTS)]
    for name in LADDER:
        lines += ["", *_switch_lines(getattr(machine, name))]
    for name, keys in _TABLES.items():
        part = getattr(machine, name)
        if part is not None:
            lines += ["", f"[{name}]", *(_line(key, getattr(part, key)) for key in keys)]
    return "\n".join(line for line in lines if line is not None) + "\n"


def _worth(value):
    """Return a value as TOML: a delete sign is the only one that JSON lets stand."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def _line(key, value):
    """Return one line of the file, None where there is nothing to say."""
    if value is None or value == _SILENT.get(key):
        return None
    remark = f"   # {_REMARKS[key]}" if key in _REMARKS else ""
    return f"{key} = {_worth(value)}{remark}"


def _switch_lines(switch):
    adds = [_line("switches", "add")] if switch.adds else []
    positions = (f"  {{ {_position(position)} }}," for position in switch.positions)
    return [f"[{switch.name}]", *adds, "positions = [", *positions, "]"]


def _position(position):
    """Return what the braces of a position hold."""
    said = {"label": position.label}
    if not position.filled:
        said["value"] = position.value
    said["how_known"] = position.how_known
    if position.spread != HOW_KNOWN_SPREAD[position.how_known]:
        said["spread"] = position.spread
    return ", ".join(f"{key} = {_worth(value)}" for key, value in said.items())


def machines_folder():
    """Return the folder of the user's own machine files."""
    return home() / "machines"


def file_stem(name):
    """Return a machine's name as the name of a file, without its ending."""
    plain = re.sub(r"[\W_]+", "_", name.lower())[:_LONGEST].strip("_")
    return plain or "machine"


def save_machine(machine, folder=None):
    """Keep a machine as a machine file and return the path of the file.

    Parameters
    ----------
    machine : Machine
        An older file of the same machine stays beside the new one, as ``<name>.1.old`` and on.
    folder : str, Path or None
        None is the folder ``machines`` of the user's own.

    Raises
    ------
    Refusal
        If the file would not read as this machine, another machine has the file's name, or the
        disk refuses.
    """
    folder = machines_folder() if folder is None else Path(folder)
    path, text = folder / f"{file_stem(machine.name)}.toml", machine_text(machine)
    if machine_from_text(text, "the machine file") != replace(machine, path=None):
        raise Refusal(
            "machine must be one that a machine file can say, got values between unknown "
            f"positions that are not filled in from their neighbours ({machine.name})."
        )
    try:
        if path.exists():
            _set_aside(machine, path, text)
    except OSError as fault:
        raise Refusal(f"{path} was not set aside: {fault.strerror}. Allow writing there.") from None
    return write_whole(path, text, machine.name)


def _set_aside(machine, path, text):
    """Copy the file of before beside itself; refuse where it is another machine's."""
    before = path.read_bytes()
    if before == text.encode():
        return
    try:
        other = read_machine(path).name
    except Refusal:
        raise Refusal(
            f"{path} is there and cannot be read: mend it or move it away, then save."
        ) from None
    if other != machine.name:
        raise Refusal(
            f"name must differ more from {other!r}, whose file is {path.name}, got "
            f"{machine.name!r}: add a word."
        )
    for number in count(1):
        with suppress(FileExistsError), open(path.with_suffix(f".{number}.old"), "xb") as kept:
            kept.write(before)
            return
