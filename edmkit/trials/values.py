"""What one cell says under its heading: a text, a number in the book's unit, a measured value."""

from edmkit.checks import Refusal
from edmkit.materials import electrode_material, work_material
from edmkit.trials.cells import number_of
from edmkit.trials.columns import BY_NAME
from edmkit.trials.measured import KINDS

_DEFAULT_HOW = {
    "hole_size_mm": "caliper", "electrode_size_mm": "caliper", "floor_size_mm": "caliper",
    "depth_mm": "dial", "length_before_mm": "caliper", "length_after_mm": "caliper",
    "end_wear_mm": "caliper", "minutes": "watch",
}  # fmt: skip
_UNSEEN = ("none", "not seen", "no wear")
_LONGEST_ID = 64


def is_number(heading):
    """Return whether numbers stand under a heading.

    Parameters
    ----------
    heading : Heading
        From `heading_of`.
    """
    return heading.name in BY_NAME and BY_NAME[heading.name].low is not None


def scaled(text, decimal, factor):
    """Return a number in the book's unit, without the dust of binary fractions.

    Parameters
    ----------
    text : str
        A cell.
    decimal : str
        The decimal sign of the file.
    factor : float
        How many of the book's unit one of the file's is.
    """
    number = number_of(text, decimal)
    return number if factor == 1 else float(f"{number * factor:.12g}")


def text_kept(name, text):
    """Return a text as the book keeps it: a material's key, a word of a list as it is listed.

    Parameters
    ----------
    name : str
        The column.
    text : str
        A cell.

    Raises
    ------
    Refusal
        If the material is not known, or an id cannot be one.
    """
    if name in ("id", "supersedes") and (len(text) > _LONGEST_ID or not text.isprintable()):
        raise Refusal(f"{name} must be at most {_LONGEST_ID} plain letters: leave it empty for a "
                      "new burn.")  # fmt: skip
    if name == "work" and text:
        return work_material(text.strip()).key
    if name == "electrode" and text:
        return electrode_material(text.strip()).key
    choices = BY_NAME[name].choices if name in BY_NAME else ()
    return next((c for c in choices if c.lower() == text.strip().lower()), text)


def how_of(heading, parts=None):
    """Return how a column is taken to be measured where the file does not say.

    Parameters
    ----------
    heading : Heading
        Its heading, which may say it.
    parts : dict or None
        What the cells of the row say.
    """
    if heading.how:
        return heading.how
    how = BY_NAME[heading.name].how
    if parts and parts.get("to") is not None:
        return next((kind for kind in how if KINDS[kind].two_ends), how[0])
    return _DEFAULT_HOW.get(heading.name, how[0])


def measured_cell(heading, text, decimal):
    """Return value, other end and kind as far as one cell gives them.

    Parameters
    ----------
    heading : Heading
        Its heading.
    text : str
        The cell, such as 3.05, 3.05..3.06, <0.02, none.
    decimal : str
        The decimal sign of the file.
    """
    said, factor = text.strip(), heading.factor
    if heading.part == "to":
        return {"to": scaled(said, decimal, factor)}
    if heading.name == "end_wear_mm" and (said.lower() in _UNSEEN or said.startswith("<")):
        to = {"to": scaled(said[1:], decimal, factor)} if said.startswith("<") else {}
        return {"value": 0.0, "how": "no wear I can see", **to}
    low, dots, high = said.partition("..")
    if dots:
        return {"value": scaled(low, decimal, factor), "to": scaled(high, decimal, factor)}
    return {"value": scaled(said, decimal, factor)}


def joined(name, known, parts):
    """Return what two cells say of one measured value together.

    Parameters
    ----------
    name : str
        The column.
    known, parts : dict
        What either says.

    Raises
    ------
    Refusal
        If they contradict each other.
    """
    for part in known.keys() & parts.keys():
        if known[part] != parts[part]:
            raise Refusal(f"{name} is said twice: {known[part]} and {parts[part]}. Keep one.")
    return known | parts
