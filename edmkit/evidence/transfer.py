"""What published burns teach of other published burns: learned at one current, held at another."""

from dataclasses import replace

import numpy as np

from edmkit.evidence.burns import IZWAN_METALS, TUBE_AREA, burn, check_of, numbers_of, rows_of
from edmkit.knowledge import Lesson, Place, logs, teach
from edmkit.shop import Shop, operating_point

_CURRENTS = (13.0, 35.0)


def transfer():
    """Return checks of Izwan et al. (2016): learn the metal at 13 A, predict 35 A, and back.

    Each of the four burns of a metal at one current is held against what a shop says that has
    learned from its four at the other.
    """
    checks = []
    for metal, (work, name) in IZWAN_METALS.items():
        rows = [row for row in rows_of("izwan") if row["workpiece"] == metal]
        for learned_at, held_at in (_CURRENTS, _CURRENTS[::-1]):
            shop = _taught([r for r in rows if float(r["current_A"]) == learned_at], work)
            checks += [
                _check(row, work, name, shop, learned_at)
                for row in rows
                if float(row["current_A"]) == held_at
            ]
    return tuple(checks)


def _made(row, work):
    return burn(work, *numbers_of(row, "current_A", "on_us", "off_us"), area=TUBE_AREA)


def _taught(rows, work):
    """Return the shop that has burned these rows."""
    lessons = []
    for number, row in enumerate(rows):
        made = _made(row, work)
        off = np.log(float(row["mrr_mm3_min"]) / float(made.removal_rate_mm3_per_min.likely))
        point = tuple(float(v) for v in logs(operating_point(made.point)))
        lessons.append(Lesson(str(number), Place.of(made.setup), point, float(off)))
    return Shop({"removal_rate": teach("removal_rate", lessons)[0]})


def _check(row, work, name, shop, learned_at):
    amps, on_us, off_us = numbers_of(row, "current_A", "on_us", "off_us")
    made = replace(_made(row, work), shop=shop)
    what = f"{name} at {amps:g} A, {on_us:g}/{off_us:g} µs, burn {row['replicate']}"
    note = "Electrode, fluid and polarity are not fully named; the four burns differ by up to half."
    return check_of(
        "izwan", "removal", "removal rate, once learned",
        f"Izwan 2016: {what}, learned at {learned_at:g} A",
        float(row["mrr_mm3_min"]), "mm³/min", made.removal_rate_mm3_per_min, kind="trend",
        how_read="read off a figure", note=note,
    )  # fmt: skip
