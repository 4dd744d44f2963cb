"""What one spark leaves, in words."""

from dataclasses import replace
from html import escape

from edmkit.burn import UNTAUGHT
from edmkit.estimate import Estimate
from edmkit.panels.answers import tile
from edmkit.physics.finish import EJECTED_SHARE, depth_left, roughness_Ra
from edmkit.units import um
from edmkit.words import three, two


def _band(likely, spread, unit):
    made = Estimate(likely, spread)
    return f"{two(made.low)} to {two(made.high)} {unit}"


def tiles(page):
    """Return the answers of a page about one spark as HTML.

    Parameters
    ----------
    page : SparkPage
        With an answer.
    """
    spark, display = page.spark, page.display
    found, unit = spark.crater, display.fine_unit
    wide, deep = (float(display.fine(v / um)) for v in (2 * found.radius, found.depth))
    if not found.volume > 0:
        return (
            '<div class="edm-big">Nothing melts</div><div class="edm-label">This spark only warms '
            "the metal: its heat is spread too thin. Give more current, or a shorter on-time."
            "</div>"
        )
    cube = float(found.volume) * (display.fine(1.0) / um) ** 3
    parts = [
        tile(
            "Crater, across",
            three(wide),
            unit,
            _band(wide, UNTAUGHT["crater_radius"], unit),
            "edm-first",
        ),
        tile(
            "Melted, deep",
            three(deep),
            unit,
            _band(deep, UNTAUGHT["crater_depth"], unit),
            "edm-first",
        ),
        _cube_tile(cube, unit),
        _heated_tile(page),
        _layer_tile(page),
        _energy_tile(page),
    ]
    return f'<div class="edm-tiles">{"".join(parts)}</div>{_more(page)}'


def _cube_tile(cube, unit):
    """Return the melted volume, in thousands where it is large."""
    per, of = (1000, f"thousand {unit}³") if cube >= 1e4 else (1, f"{unit}³")
    band = _band(cube / per, UNTAUGHT["crater_volume"], of)
    return tile("Melted, volume", three(cube / per), of, band)


def _left(page, depth):
    """Return a depth below the new surface in the shown unit."""
    return float(page.display.fine(depth_left(depth, page.spark.crater) / um))


def _heated_tile(page):
    """Return how deep the heat changed the metal, or that it does not."""
    found, unit = page.spark.crater, page.display.fine_unit
    hard, soft = (_left(page, d) for d in (found.rehardened_depth, found.tempered_depth))
    if hard == hard:
        below = _band(hard, UNTAUGHT["heat_affected"], unit)
        more = f"; softened to {three(soft)} {unit}" if soft == soft else ""
        return tile("Hardened again, to", three(hard), unit, f"{below}{more}")
    if soft == soft:
        return tile("Softened, to", three(soft), unit, _band(soft, UNTAUGHT["heat_affected"], unit))
    return tile("Changed by heat", "-", "", "this metal neither hardens again nor softens")


def _as_changed(page, estimate):
    """Return a roughness or a layer for the share of heat that the page was given."""
    moved = (roughness_Ra(c.depth, c.volume) for c in (page.spark.crater, page.burn.point.crater))
    return replace(estimate, likely=estimate.likely * float(next(moved) / next(moved)))


def _layer_tile(page):
    """Return the white layer that all sparks together leave."""
    layer, display = _as_changed(page, page.burn.recast_um), page.display
    ends = (two(display.fine(v)) for v in (layer.low, layer.high))
    return tile(
        "White layer, all sparks", three(display.fine(layer.likely)), display.fine_unit,
        " to ".join(ends) + f" {display.fine_unit}",
    )  # fmt: skip


def _energy_tile(page):
    """Return the energy of the spark, and where it comes from."""
    spark, micro = page.spark, 1e6 * page.spark.energy
    value, unit = (three(micro / 1000), "mJ") if micro >= 100 else (three(micro), "µJ")
    made = (
        f"{three(spark.discharge_voltage)} V × {three(spark.current)} A × "
        f"{three(1e6 * spark.on_time)} µs"
    )
    return tile("Energy of one spark", value, unit, made)


def _more(page):
    ra = _as_changed(page, page.burn.roughness_Ra_um)
    rough, unit = page.display.rough, page.display.rough_unit
    said = (
        f"Many such sparks leave a wall of Ra {three(rough(ra.likely))} {unit} "
        f"({two(rough(ra.low))} to {two(rough(ra.high))}): page 08 shows how. Depths of the heat "
        "count from the surface that is left. No measured crater checks these sizes: the bands "
        "are assumed."
    )
    return f'<div class="edm-note">{escape(said)}</div>'


def about_crater(section):
    """Return what the picture of a crater rests on.

    Parameters
    ----------
    section : CraterSection
        As it is drawn; something melts.
    """
    text = (
        "From the table of solved sparks. Depths in the picture count from the old surface. "
        f"{two(100 * EJECTED_SHARE)} % of the melt is taken to be thrown out; the rest freezes "
        "again as white layer."
    )
    if section.undrawn_share > 0:
        text += f" The pool is drawn {two(100 * section.undrawn_share)} % too small."
    return text
