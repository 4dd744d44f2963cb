"""Standards and textbook examples, each beside the kit's own figure."""

import numpy as np

from edmkit.data import read_rows
from edmkit.evidence.check import Check
from edmkit.physics import finish, pulse, relaxation, removal
from edmkit.physics.wear import end_wear
from edmkit.units import inch, minute, mJ, mm, mm2, mm3, mm3_per_min, ms, percent, uF, um, us

_EXACT = 1e-9  # relative: a grade or a row of a table
_ROUNDING = 3.5 * percent  # of two and three printed digits, the worst of the table 2.9 %
_VDI, _GRADES = "standard_vdi3400.csv", "standard_roughness_grades.csv"
_CUT_OFF, _TEXTBOOK = "standard_roughness_cutoff.csv", "standard_textbook_examples.csv"
_BOOKS = {
    "GM": "Ghosh and Mallik, Manufacturing Science",
    "G": "Groover, Fundamentals of Modern Manufacturing",
    "K": "Kalpakjian, as told by El-Hofy",
    "R": "lecture series and exam papers",
    "W": "course notes on wear from weighing",
}


# --- standards -------------------------------------------------------------------------------
def standards():
    """Return the checks of VDI 3400 classes, ISO 1302 grades and ISO 21920-3 cut-offs."""
    return (*_classes(), *_grades(), *_cut_offs())


def _standard(table, source, quantity, what, published, unit, predicted, tolerance):
    return Check("finish", "standard", quantity, what, published, unit, float(predicted), source,
                 "read", table, tolerance=tolerance)  # fmt: skip


def _classes():
    prints = (("ra_um_S1", "trade magazine page S1"), ("ra_um_printed_S2", "trade page S2"))
    return [
        _standard(_VDI, f"VDI 3400 as printed by a {page}", "Ra", f"VDI 3400 class {number}",
                  float(row[column]), "µm", finish.class_roughness(int(number)) / um, _ROUNDING)
        for row in read_rows(_VDI)
        for number in [row["vdi_class"]]
        for column, page in prints
        if row[column]
    ]  # fmt: skip


def _grades():
    checks = []
    for row in read_rows(_GRADES):
        grade, ra = row["N_grade"], float(row["ra_um"])
        source = "ISO 1302 as reprinted, S13"
        checks.append(_standard(_GRADES, source, "N grade", f"N grade of Ra {ra:g} µm",
                                int(grade[1:]), "", finish.n_grade(ra * um), _EXACT))  # fmt: skip
        if row["nearest_vdi_class"]:
            number = int(row["nearest_vdi_class"])
            made = finish.n_grade(finish.class_roughness(number))
            checks.append(_standard(_GRADES, source, "N grade", f"N grade of class {number}",
                                    int(grade[1:]), "", made, _EXACT))  # fmt: skip
    return checks


def _cut_offs():
    checks = []
    for row in read_rows(_CUT_OFF):
        over, to = float(row["ra_um_over"]), float(row["ra_um_to"])
        length = float(row["section_length_mm"])
        for ra in (max(over, 0.001) * 1.001, to):  # the upper end belongs to the row
            made = finish.cut_off(ra * um) / mm
            what, source = f"cut-off for Ra {ra:.4g} µm", "ISO 21920-3 as reprinted, S11"
            checks.append(_standard(_CUT_OFF, source, "cut-off", what, length, "mm", made, _EXACT))
    return checks


# --- textbook examples -----------------------------------------------------------------------
def _spark(resistance, farads, supply, breakdown):
    return relaxation.relaxation_spark(resistance, farads, supply, breakdown)


def _rate(amps, celsius):
    return removal.melting_point_rate(amps, celsius)


def _drilling_rate():
    """Return the lecture's rate from the kit's power of the circuit [mm³/min]."""
    return 27.4 * (_spark(50, 10 * uF, 200, 150).power / 1e3) ** 1.54


def _electrodes(depth_mm, wear, allowed_mm):
    """Return how many equal electrodes bring the end within an error."""
    count, left = 0, depth_mm * mm
    while left > allowed_mm * mm:
        count, left = count + 1, float(end_wear(wear, left * 1e-4, 1e-4))
    return count


def _relative_power(share):
    best = 100 * relaxation.BEST_BREAKDOWN_SHARE
    return np.divide(*(_spark(10, 1e-6, 100, volts).power for volts in (100 * share, best)))


def _best_spark():
    return _spark(1.0, 1.0, 100, 100 * relaxation.BEST_BREAKDOWN_SHARE)


def _celsius(fahrenheit):
    return (fahrenheit - 32) / 1.8


# Example: the kit's answer, and a tolerance where the example says why it is wider than its print.
_EXAMPLES = {
    "G1": (lambda: _rate(20, 3410) / mm3, None),
    "G2": (lambda: _rate(20, 232) / mm3, None),
    "G3": (lambda: _rate(20, 660) / mm3, None),
    "G4": (lambda: _rate(20, 420) / mm3, None),
    "G5": (lambda: 0.01 * _rate(1, _celsius(2651)) / _rate(1, _celsius(2802)), None),
    "G6": (lambda: _rate(10, 1500) * minute / (7 * mm * 0.165 * mm) / mm, None),
    "G7": (lambda: _rate(20, 3410) * minute / inch**3, 0.01),  # other coefficient, 0.8 % apart
    "K1": (lambda: _rate(20, 1500) / mm3_per_min, 0.005),  # other coefficient, 0.4 % apart
    "K3": (lambda: 360.5 * mm3_per_min / _rate(35, 1500), 0.005),
    "R1": (lambda: _spark(10, 100 * uF, 100, 80).energy, None),
    "R2": (lambda: 500 * us / _spark(1, 100 * uF, 100, 70).charge_time, None),
    "R3": (lambda: _spark(10, 200 * uF, 100, 71.6).charge_time / ms, None),
    "R4": (lambda: 0.5 / _spark(10, uF, 100, 71.6).energy, None),
    "R6": (lambda: relaxation.BEST_BREAKDOWN_SHARE, None),
    "R7": (lambda: _best_spark().charge_time, None),
    "R8": (lambda: _best_spark().power / 100**2, None),
    **{f"R9_{s}": (lambda s=s: _relative_power(s), None) for s in (0.5, 0.6, 0.7, 0.73, 0.8, 0.9)},
    "GM1": (lambda: _spark(50, 10 * uF, 200, 150).energy, None),
    "GM2": (lambda: _spark(50, 10 * uF, 200, 150).charge_time / ms, None),
    "GM3": (lambda: _spark(50, 10 * uF, 200, 150).power, None),
    "GM4": (_drilling_rate, None),
    "GM5": (lambda: 500 / _drilling_rate(), None),
    "W4": (lambda: _electrodes(10, 0.10, 0.02), _EXACT),
    "P1": (lambda: pulse.pulse_energy(25, 10, 100 * us) / mJ, None),
    "P2": (lambda: 20 * pulse.duty_factor(100 * us, 50 * us), None),
    "U3": (lambda: 12.00 - 0.05 + end_wear(0.01, 12 * 50 * mm3, 50 * mm2) / mm, None),
}
# Examples that no function of the kit answers.
LEFT_OUT = {
    "K2": "a ratio of two printed coefficients",
    "R5": "the kit has no resistance in the gap",
    "R10": "Ohm's law, given to the kit as a number",
    "GM6": "the lecture's own roughness formula",
    "W1": "two weighings divided",
    "W2": "two weighings divided by two densities",
    "W3": "a ratio of two densities",
    "U1": "a sum of four allowances",
    "U2": "a sum of two allowances",
}


def textbook():
    """Return the checks of the worked examples that a function of the kit answers."""
    rows = {row["id"]: row for row in read_rows(_TEXTBOOK)}
    return tuple(_example(rows[name], *line) for name, line in _EXAMPLES.items())


def _signs(text):
    """Return a text of the table with real symbols."""
    for plain, sign in (
        ("mm3", "mm³"),
        ("in3", "in³"),
        ("cm2", "cm²"),
        (" us", " µs"),
        ("uF", "µF"),
    ):
        text = text.replace(plain, sign)
    return text


def _example(row, answered, tolerance):
    printed = row["answer"].split()[0]
    half_digit = 0.5 * 10.0 ** -len(printed.partition(".")[2])
    how = next((h for h in ("from memory", "read") if h in row["status"]), "computed here")
    unit = "" if row["unit"] == "-" else _signs(row["unit"].split(" (")[0])
    book = next((_BOOKS[start] for start in _BOOKS if row["id"].startswith(start)), "worked here")
    return Check("sums", "textbook", "", f"{row['id']}: {row['topic']}", float(printed), unit,
                 float(answered()), book, how, _TEXTBOOK, note=_signs(row["given"]),
                 tolerance=tolerance or half_digit / float(printed))  # fmt: skip
