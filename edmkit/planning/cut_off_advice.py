"""Which cut-off to measure a burned surface with, and what a flat too small for it does."""

from dataclasses import dataclass

import numpy as np

from edmkit.checks import require
from edmkit.data import read_rows
from edmkit.physics.finish import comparator_plate, cut_off
from edmkit.physics.profile import DEFAULT_SECTIONS, RUN_UP
from edmkit.units import mm, um
from edmkit.words import two

# How a surface of craters reads with a Gaussian filter: cut-off over crater radius, Ra over that
# of all wavelengths, Rz over Ra. Derived here from simulated surfaces (four seeds, melt rule, the
# highest of ten places, sizes spread by 0.25; 9000 craters), good to 1 %; no measured one.
_READS = np.array(
    [
        (6, 0.66, 4.5),
        (9, 0.76, 4.8),
        (12.5, 0.82, 5.1),
        (18, 0.87, 5.4),
        (25, 0.90, 5.7),
        (50, 0.94, 6.3),
        (100, 0.96, 6.9),
        (200, 0.97, 7.5),  # held beyond: Ra moves by 1 % at most, Rz by as much as from 100 to 200
    ]
)
_ALIKE = 0.98  # what reads as near as this to the default is not worth a figure
ACCEPTANCE = (
    "Where a drawing sets a limit: by the older rule (ISO 4288, read in a secondary text) a "
    "surface passes if the first reading is at most 70 % of the limit, or the first three lie "
    "within it, or at most one of six or two of twelve lies over it. By the newer one (ISO "
    "21920-3, from memory) none may. Ask which rule holds."
)
_SOURCE = "Reckoned from simulated surfaces, read with a Gaussian filter; no measured one."


@dataclass(frozen=True)
class CutOffAdvice:
    """What the standard asks for, and what a flat has room for.

    ``default_mm`` cut-off for this roughness, ``evaluation_mm`` five of it, ``travel_mm`` with
    the run-up, ``tip`` radius of the stylus as text [µm]. ``cut_off_mm`` and ``sections`` are
    what fits: None and 0 where no stylus reading is worth having. ``Ra_reads`` and ``Rz_reads``
    are over what the default would read [-], no figure for none. ``plate`` is the class of the
    comparator plate.
    """

    default_mm: float
    evaluation_mm: float
    travel_mm: float
    tip: str
    cut_off_mm: float | None
    sections: int
    Ra_reads: float
    Rz_reads: float
    plate: int
    sentences: tuple


def _standard():
    """Return the standard's cut-offs [mm] with the tip for each in words, shortest first."""
    rows = read_rows("standard_roughness_cutoff.csv")
    tips = (row["stylus_tip_radius_um"].replace("Rz>3", "Rz is over 3") for row in rows)
    return dict(zip((float(row["lambda_c_mm"]) for row in rows), tips, strict=True))


def _reads(cut_off_mm, crater_radius_um):
    """Return Ra and Rz that a cut-off reads, over Ra of all wavelengths."""
    length, share, ratio = _READS.T
    at = np.log(cut_off_mm * mm / (crater_radius_um * um))
    Ra = np.interp(at, np.log(length), share)
    return float(Ra), float(Ra * np.interp(at, np.log(length), ratio))


def _room(flat_length_mm, cut_offs, crater_radius_um):
    """Return the longest of the cut-offs that the flat has room for, and how many sections."""
    for cut_off_mm in cut_offs:
        sections = int(flat_length_mm / cut_off_mm - RUN_UP + 1e-9)
        if sections and cut_off_mm * mm >= _READS[0, 0] * crater_radius_um * um:
            return cut_off_mm, min(sections, DEFAULT_SECTIONS)
    return None, 0


def cut_off_advice(roughness_Ra_um, crater_radius_um, flat_length_mm=None):
    """Return the cut-off to measure a roughness with, on a flat of this length.

    Parameters
    ----------
    roughness_Ra_um, crater_radius_um : float
        Roughness expected and radius of its craters [µm].
    flat_length_mm : float, optional
        Straight length that the stylus can travel [mm]; None for enough.

    Returns
    -------
    CutOffAdvice

    Raises
    ------
    Refusal
        If a number is outside its range.

    Notes
    -----
    First fewer sections of the default cut-off, then shorter cut-offs; none below six crater
    radii, where a third of Ra is lost.
    """
    roughness = float(require("roughness_Ra_um", roughness_Ra_um, 0.001, 80, "µm"))
    radius = float(require("crater_radius_um", crater_radius_um, 0.1, 5000, "µm"))
    default = float(cut_off(roughness * um) / mm)
    tips = _standard()
    travel = (DEFAULT_SECTIONS + RUN_UP) * default
    used, sections = default, DEFAULT_SECTIONS
    if flat_length_mm is not None:
        flat = float(require("flat_length_mm", flat_length_mm, 0.01, 2000, "mm"))
        shorter = [length for length in sorted(tips, reverse=True) if length <= default]
        used, sections = _room(flat, shorter, radius)
    Ra, Rz = _over_default(used, default, radius)
    plate = int(comparator_plate(roughness * um))
    found = (default, DEFAULT_SECTIONS * default, travel, tips[default])
    said = (_asked(*found), *_said(flat_length_mm, default, used, sections, (Ra, Rz), plate))
    return CutOffAdvice(*found, used, sections, Ra, Rz, plate, (*said, ACCEPTANCE))


def _over_default(used, default, radius):
    """Return Ra and Rz of the cut-off in use over those of the default, no figure for none."""
    if used is None:
        return np.nan, np.nan
    (Ra, Rz), (default_Ra, default_Rz) = _reads(used, radius), _reads(default, radius)
    return Ra / default_Ra, Rz / default_Rz


def _asked(default, evaluation, travel, tip):
    return (
        f"This roughness is measured with a cut-off of {default:g} mm: five sections make "
        f"{evaluation:g} mm, and {travel:g} mm of travel with the run-up. "
        f"Radius of the stylus in µm: {tip}."
    )


def _said(flat_length_mm, default, used, sections, reads, plate):
    """Return the sentences about the flat, none where nobody gave one."""
    instead = f"Or hold the comparator plate of class {plate} against it."
    if flat_length_mm is None:
        return ()
    if not sections:
        return (
            "This flat is too small for a stylus: what fits on it would read craters away as "
            f"waviness. Hold the comparator plate of class {plate} against it.",
        )
    many = f"{sections} section{'s' if sections > 1 else ''}"
    stated = f"Write beside the result: cut-off {used:g} mm, {many}."
    if used == default and sections == DEFAULT_SECTIONS:
        return ("This flat is long enough for it.",)
    if used == default:
        return (f"This flat has room for {many} only, with the run-up: one reading scatters more, "
                "so take several side by side and take their mean.", stated, instead)  # fmt: skip
    return (
        f"Not one section of {default:g} mm fits on this flat with its run-up. A cut-off of "
        f"{used:g} mm does, with {many}. {_low(*reads)}",
        stated,
        instead,
    )


def _low(Ra, Rz):
    """Return how much too little a shorter cut-off shows."""
    lost = [f"{name} about {two(100 * (1 - share))} %" for name, share in (("Ra", Ra), ("Rz", Rz))
            if share < _ALIKE]  # fmt: skip
    if not lost:
        return f"It reads as the longer one would, within {two(100 * (1 - _ALIKE))} %. {_SOURCE}"
    return f"It reads low: {' and '.join(lost)}. {_SOURCE}"
