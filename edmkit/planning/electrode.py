"""The electrode for a hole: section, what a micrometer reads, corners, and the pip it leaves."""

from dataclasses import dataclass
from math import ceil, cos, floor, pi

from edmkit.checks import Refusal, one_of, require
from edmkit.planning.feature import Shape
from edmkit.planning.insert import InsertTube
from edmkit.planning.shapes import Keyway, Rectangle, RegularPolygon, Round, Tube

MICROMETER_MM = 0.01
MIDDLE_RATIO = 4.0  # of undersizes, from which a middle electrode is wanted; trade page (S5)
ORBITS = ("circular", "square")
_SLENDER = 4.0  # times its diameter: a taller pip bends, shorts and can be snapped; from memory


@dataclass(frozen=True)
class Reading:
    """What a micrometer shows across an electrode, rounded down to its step [mm]."""

    words: str
    mm: float


@dataclass(frozen=True)
class Sizing:
    """An electrode's section and how it came about: ``terms`` are (words, mm) per side."""

    section: Shape
    undersize_mm: float
    terms: tuple


def size(cavity, gap_side_mm, *, roughness_Rz_mm=0.0, stock_mm=0.0, orbit_mm=0.0, location_mm=0.0):
    """Return the electrode for a cavity.

    Parameters
    ----------
    cavity : Shape
        The hole on the drawing [mm].
    gap_side_mm : float
        Side gap per side of this pass [mm].
    roughness_Rz_mm, stock_mm, location_mm : float
        Of a pass that another follows: its roughness, what it leaves beside that, and how far
        the next one may sit off its place; 0 for the last pass [mm].
    orbit_mm : float
        Radius of an orbit [mm].

    Returns
    -------
    Sizing

    Raises
    ------
    Refusal
        If the allowances leave no electrode; the largest of them is named.

    Notes
    -----
    Last pass: D - 2 (gap + orbit). Earlier: D - 2 (gap + Rz + stock + location + orbit). Of
    ``stock_mm`` at least `least_stock_mm`.

    References
    ----------
    d = D - 2 S - 2 Rz - 2 Z, Z >= Rz / 2: vocational-school wiki.
    """
    terms = tuple(
        (words, float(require(name, value, 0, 50, "mm", knob="it counts per side")))
        for name, words, value in (
            ("gap_side_mm", "side gap", gap_side_mm),
            ("roughness_Rz_mm", "roughness Rz of this pass", roughness_Rz_mm),
            ("stock_mm", "stock for the next pass", stock_mm),
            ("location_mm", "location error", location_mm),
            ("orbit_mm", "orbit", orbit_mm),
        )
        if value or name == "gap_side_mm"
    )
    under = sum(mm for _, mm in terms)
    if 2 * under >= cavity.smallest_width_mm:
        words, most = max(terms, key=lambda term: term[1])
        raise Refusal(
            f"the allowances eat the electrode up: {2 * under:.3f} mm of "
            f"{cavity.smallest_width_mm:.3f} mm, most of it the {words} ({most:.3f} mm per side): "
            "take a lower current or a shorter on-time, which makes gap, roughness and stock "
            "smaller."
        )
    return Sizing(cavity.shrunk(under), under, terms)


def least_stock_mm(roughness_Rz_mm, recast_mm):
    """Return the least stock per side beside the roughness for a pass that follows [mm].

    Parameters
    ----------
    roughness_Rz_mm, recast_mm : float
        Roughness Rz, and the recast layer that one place in twenty exceeds [mm].

    Notes
    -----
    The larger of half of Rz (vocational-school wiki) and the recast layer, so that the pass that
    follows takes peaks, valleys and the white layer off.
    """
    rough = require("roughness_Rz_mm", roughness_Rz_mm, 0, 5, "mm")
    recast = require("recast_mm", recast_mm, 0, 5, "mm")
    return float(max(rough / 2, recast))


def middle_electrode_wanted(rough_undersize_mm, finish_undersize_mm):
    """Return whether a middle electrode belongs between two.

    Parameters
    ----------
    rough_undersize_mm, finish_undersize_mm : float
        Undersize per side of the two [mm].

    References
    ----------
    Wanted from a ratio of 4 on: 0.3 / 0.07 is the example of a trade page.
    """
    rough = require("rough_undersize_mm", rough_undersize_mm, 0, 50, "mm")
    finish = require("finish_undersize_mm", finish_undersize_mm, 1e-6, 50, "mm")
    return bool(rough / finish >= MIDDLE_RATIO * (1 - 1e-9))


def gap_wanted(cavity, section, size_minus_mm=0.0, size_plus_mm=0.0, orbit_mm=0.0):
    """Return the side gap that an electrode at hand needs, per side: low, middle, high [mm].

    Parameters
    ----------
    cavity, section : Shape
        The hole, and the electrode at hand, of one kind [mm].
    size_minus_mm, size_plus_mm : float
        Tolerance on the size of the hole, both without sign [mm].
    orbit_mm : float
        Radius of an orbit [mm].

    Raises
    ------
    Refusal
        If the electrode is as large as the hole may be.
    """
    require("size_minus_mm", size_minus_mm, 0, 10, "mm", knob="type it without its sign")
    require("size_plus_mm", size_plus_mm, 0, 10, "mm", knob="type it without its sign")
    require("orbit_mm", orbit_mm, 0, 50, "mm", knob="0 is a straight plunge")
    tube = isinstance(section, InsertTube) and type(cavity) is Round
    if not tube and not isinstance(section, type(cavity)):
        raise Refusal(
            f"the electrode must have the hole's shape, got {type(section).__name__} for "
            f"{type(cavity).__name__}."
        )
    room = cavity.smallest_width_mm - section.smallest_width_mm
    if tube or isinstance(cavity, Tube) != isinstance(section, Tube):  # its width is its wall
        room = _outer(cavity) - _outer(section)
    low, middle, high = (
        room / 2 + half - orbit_mm for half in (-size_minus_mm / 2, 0.0, size_plus_mm / 2)
    )
    if high <= 0:
        raise Refusal(
            f"this electrode is too large for the hole by {-2 * high:.3f} mm before any gap: take "
            "a smaller one."
        )
    return max(low, 0.0), max(middle, 0.0), high


def _outer(shape):
    return getattr(shape, "d", shape.smallest_width_mm)


def corner_left_mm(electrode_corner_mm, gap_side_mm, orbit_mm=0.0, orbit="circular", worn_mm=0.0):
    """Return the radius left in an inside corner of the hole [mm].

    Parameters
    ----------
    electrode_corner_mm : float
        Radius on the electrode's corner when it is new [mm].
    gap_side_mm, orbit_mm, worn_mm : float
        Side gap, radius of the orbit, and radius to which the corner has worn [mm].
    orbit : str
        'circular' or 'square'; a square orbit adds nothing.

    Notes
    -----
    Corner + gap, + a circular orbit's radius. Exact for an even gap. Derived here.
    """
    one_of("orbit", orbit, ORBITS)
    own = require("electrode_corner_mm", electrode_corner_mm, 0, 1000, "mm")
    gap = require("gap_side_mm", gap_side_mm, 0, 50, "mm")
    radius = require("orbit_mm", orbit_mm, 0, 50, "mm")
    worn = require("worn_mm", worn_mm, 0, 1000, "mm")
    return float(max(own, worn) + gap + (radius if orbit == "circular" else 0.0))


@dataclass(frozen=True)
class Pip:
    """The core that a bore leaves standing; ``remedies`` say what makes it harmless.

    ``annulus_share`` is the free ring around it over the area of the bore.
    """

    diameter_mm: float
    height_mm: float
    volume_mm3: float
    annulus_share: float
    remedies: tuple


def pip(bore_mm, gap_side_mm, depth_mm, *, orbit_mm=0.0, bore_offset_mm=0.0, rotating=False):
    """Return the pip that a bored electrode leaves, None where it leaves none.

    Parameters
    ----------
    bore_mm, gap_side_mm, depth_mm : float
        Diameter of the bore, side gap in it, depth of the hole at the bore [mm].
    orbit_mm, bore_offset_mm : float
        Radius of an orbit; how far the bore lies off the electrode's axis [mm].
    rotating : bool
        Whether the electrode turns: then only the part of the pip on its axis stays.

    Notes
    -----
    Radius b - g - orbit; turning with the bore off its axis by e: b - e - g. Derived here.
    """
    bore = float(require("bore_mm", bore_mm, 0, 100, "mm", knob="0 is a solid electrode"))
    gap = float(require("gap_side_mm", gap_side_mm, 0, 50, "mm"))
    depth = float(require("depth_mm", depth_mm, 0, 1000, "mm"))
    orbit = float(require("orbit_mm", orbit_mm, 0, 50, "mm"))
    off = float(require("bore_offset_mm", bore_offset_mm, 0, 100, "mm"))
    radius = bore / 2 - gap - orbit - (off if rotating else 0.0)
    if radius <= 0 or not depth:
        return None
    ring = gap + orbit
    share = (bore * ring - ring**2) / (bore / 2) ** 2
    remedies = (
        "a second, solid electrode takes it down",
        f"an orbit of {ceil((bore / 2 - gap) * 100) / 100:.2f} mm leaves none",
        f"a bore of {floor(2 * ring * 1000) / 1000:.3f} mm leaves none",
        "snap it off and burn the stump away"
        if depth > _SLENDER * 2 * radius
        else "it is too stout to snap off cleanly",
    )
    return Pip(2 * radius, depth, pi * radius**2 * depth, share, remedies)


def readings(section, step_mm=MICROMETER_MM):
    """Return what a micrometer shows across an electrode, rounded down to its step.

    Parameters
    ----------
    section : Shape
        The electrode [mm].
    step_mm : float
        The micrometer's step [mm].

    Returns
    -------
    tuple of Reading

    Notes
    -----
    Down, because a small electrode can be dressed by a longer burn and a large hole cannot be
    mended. A bore is given as it is.
    """
    step = float(require("step_mm", step_mm, 1e-4, 1, "mm", knob="0.01 is a common micrometer"))

    def down(words, mm):
        return Reading(words, floor(mm / step + 1e-6) * step)

    if isinstance(section, InsertTube):
        under = section.insert - section.flat_depth * (2 if section.flats % 2 == 0 else 1)
        over = "insert, over two flats" if section.flats % 2 == 0 else "insert, flat to round"
        return (down("diameter", section.d), Reading("bore", section.bore), down(over, under))
    if isinstance(section, Tube):
        return (down("diameter", section.d), Reading("bore", section.bore))
    if isinstance(section, Keyway):
        return (down("width", section.width),
                down("top, from the bore's centre", section.bore / 2 + section.top))  # fmt: skip
    if isinstance(section, Rectangle):
        return (down("length", section.a), down("width", section.b))
    if isinstance(section, RegularPolygon):
        if section.sides % 2 == 0:
            return (down("across flats", section.across_flats),)
        half = section.across_flats / 2
        return (down("flat to opposite corner", half + half / cos(pi / section.sides)),)
    return (down("diameter", section.d),)
