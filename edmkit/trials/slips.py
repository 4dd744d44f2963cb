"""Numbers that look like a slip of the unit or of the pen: named, never changed."""

from collections import Counter
from dataclasses import replace
from math import exp, log
from statistics import median

from edmkit.trials.columns import BY_NAME, MEASURED, NUMBERS
from edmkit.trials.learn import rows_of

_FACTORS = {1000.0: "1000", 25.4: "25.4", 60.0: "60"}  # wrong prefix, inch for mm, s for min
_NEAR, _FAR = 1.25, 12.0  # of such a factor, and from the others before it counts; assumptions
# What a small shop burns, in the column's unit; outside it is worth a second look. Assumptions.
_USUAL = {
    "peak_current_A": (0.2, 120.0), "on_time_us": (1.0, 3000.0), "off_time_us": (1.0, 3000.0),
    "resistance_ohm": (0.5, 20_000.0), "capacitance_uF": (1e-4, 1000.0), "supply_V": (40.0, 320.0),
    "open_voltage_V": (40.0, 320.0), "minutes": (0.2, 5000.0), "depth_mm": (0.05, 200.0),
    "hole_size_mm": (0.1, 300.0), "electrode_size_mm": (0.1, 300.0), "end_wear_mm": (0.0, 60.0),
    "roughness_Ra_um": (0.15, 25.0), "roughness_Rz_um": (0.8, 150.0), "recast_um": (0.5, 150.0),
    "engaged_area_mm2": (0.02, 20_000.0), "section_mm2": (0.02, 20_000.0),
    "volume_mm3": (0.005, 500_000.0), "lift_burn_s": (0.2, 60.0), "lift_up_s": (0.1, 30.0),
}  # fmt: skip
_WIDEST = {"removal_rate": 40.0, "relative_wear": 25.0, "gap_side": 8.0, "roughness_Ra": 8.0}
_SAID = {"removal_rate": "the removal rate", "relative_wear": "the wear",
         "gap_side": "the side gap", "roughness_Ra": "the roughness"}  # fmt: skip


def doubts(trials):
    """Return what looks like a slip: (place in the list, column, text, sentence).

    Parameters
    ----------
    trials : sequence of Trial
        The burns of one file.
    """
    found = []
    for place, trial in enumerate(trials):
        found += [(place, *doubt) for doubt in (*_unusual(trial), *_contradictions(trial))]
        found += [(place, *doubt) for doubt in _against_physics(trial)]
    found += _against_the_others(trials)
    found += _repeated(trials)
    return sorted(found, key=lambda doubt: (doubt[0], doubt[1]))


def _middle(trial, name):
    value = getattr(trial, name)
    return value.middle if hasattr(value, "middle") else value


def _words(name):
    return BY_NAME[name].words


def _unusual(trial):
    for name, (low, high) in _USUAL.items():
        value = _middle(trial, name)
        if value is not None and not low <= value <= high:
            unit = BY_NAME[name].unit
            yield (
                name,
                f"{value:g}",
                (f"{_words(name)} {value:g} {unit} is unusual: is the unit right?"),
            )


def _contradictions(trial):
    if both := trial.two_generators:
        yield (
            both[1],
            f"{getattr(trial, both[1]):g}",
            (f"{_words(both[0])} and {_words(both[1])}: a burn has one of the two generators."),
        )
    hole, tool = _middle(trial, "hole_size_mm"), _middle(trial, "electrode_size_mm")
    if hole and tool and not 0.97 <= hole / tool <= 2.5:
        yield (
            "hole_size_mm",
            f"{hole:g}",
            (f"hole {hole:g} mm from an electrode of {tool:g} mm: is one of them in inches?"),
        )
    before, after = _middle(trial, "length_before_mm"), _middle(trial, "length_after_mm")
    if before and after and after > before:
        yield "length_after_mm", f"{after:g}", "the electrode is longer after than before."
    wanted, depth = trial.target_depth_mm, _middle(trial, "depth_mm")
    if wanted and depth and not 0.2 <= depth / wanted <= 2.0:
        yield "depth_mm", f"{depth:g}", f"depth {depth:g} mm where {wanted:g} mm were wanted."


def _against_physics(trial):
    """Yield figures that lie further from the physics than any shop does."""
    for row in rows_of(replace(trial, machine="", machine_file=None))[0]:
        widest = _WIDEST.get(row.quantity)
        if widest is None or row.measured.is_interval:
            continue
        away = exp(abs(log(row.ratio)))
        if away > widest:
            way = "more" if row.ratio > 1 else "less"
            yield (
                row.quantity,
                f"{row.measured.value:.3g}",
                (
                    f"{_SAID[row.quantity]} comes out {away:.0f} times {way} than the physics "
                    "says: check times, sizes and units of this line."
                ),
            )


def _against_the_others(trials):
    """Return numbers that differ from the file's other lines by the factor of a common slip."""
    found = []
    for name in (*NUMBERS, *MEASURED):
        values = [(n, v) for n, t in enumerate(trials) if (v := _middle(t, name))]
        if len(values) < 3:
            continue
        usual = median(abs(v) for _, v in values)
        for place, value in values:
            ratio = abs(value) / usual
            if not 1e-9 < ratio < 1e9:
                found.append((place, name, f"{value:g}", f"{_words(name)} {value:g} is absurd."))
                continue
            away = max(ratio, 1 / ratio)
            near = [w for f, w in _FACTORS.items() if 1 / _NEAR < away / f < _NEAR]
            if away > _FAR and near:
                found.append((place, name, f"{value:g}", (
                    f"{_words(name)} {value:g} is about {near[0]} times off the other lines "
                    f"({usual:g}): is the unit the same?"
                )))  # fmt: skip
    return found


def _repeated(trials):
    """Return lines that say the same as an earlier one."""
    counted, found = Counter(), []
    for place, trial in enumerate(trials):
        contents = repr(replace(trial, id="", supersedes=None))
        counted[contents] += 1
        if counted[contents] > 1:
            found.append((place, "", "", "the same line stands in the file before: twice meant?"))
    return found
