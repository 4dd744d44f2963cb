"""What to watch at this setting: flags for arrays, sentences with the knob to turn for one."""

import numpy as np

from edmkit.likely import DIALS
from edmkit.physics import crater
from edmkit.settings import Relaxation, usual_polarity
from edmkit.units import ZERO_CELSIUS, mm2, um, us
from edmkit.words import three

# Of a relaxation circuit; common practice, no source. Shown wherever one is chosen.
STAYS_CHARGED = (
    "Its capacitors stay charged after it is switched off. Take their sizes from the diagram, "
    "never with a hand in the cabinet."
)
_LOW_FLASH = 70 + ZERO_CELSIUS  # K, least flash point in a city's fire ordinance (Osaka, 11-2)
_RA_RANGE = (0.4 * um, 15 * um)  # where the roughness law has anchors
# Metals whose dust and sludge ask for care, and in which families they are; from memory.
_METALS = ("magnesium", "titanium", "beryllium", "cobalt", "nickel", "chromium", "lead", "zinc",
           "aluminium")  # fmt: skip
_IN_FAMILY = {
    "carbide": ("cobalt",),
    "nickel": ("nickel", "chromium"),
    "stainless": ("nickel", "chromium"),
    "brass": ("zinc", "lead"),  # lead: free-cutting brass, which a person cannot tell from other
    "bronze": ("zinc",),
}
_NO_CHROMIUM = ("carbon steel", "cast iron")  # of the steels
# Those that ask for more than the usual extraction at every setting; safety data, from memory.
_TOXIC = ("beryllium", "cobalt")


def contents(work):
    """Return the metals to take care of in a work material, a tuple of names, worst first.

    Parameters
    ----------
    work : Material
        Its family and name tell, and ``contains`` where an own material has it.
    """
    said = {str(name).lower() for name in work.contains}
    for family, metals in _IN_FAMILY.items():
        said.update(metals if family in work.family else ())
    if work.is_steel and work.family not in _NO_CHROMIUM:
        said.add("chromium")
    text = f"{work.name} {work.family}".lower()
    return tuple(metal for metal in _METALS if metal in said or metal in text)


def _toxic(work):
    return [metal for metal in contents(work) if metal in _TOXIC]


def _outside(value, limits):
    return (value < limits[0] * (1 - 1e-9)) | (value > limits[1] * (1 + 1e-9))


def extrapolated(point):
    """Return where current or on-time leave the range of the crater tables, as booleans."""
    return _outside(point.spark_current, crater.CURRENTS) | _outside(
        point.discharge_duration, crater.ON_TIMES
    )


def doubtful_dial(point):
    """Return where a position's value is guessed or unknown, as booleans."""
    machine = point.setup.machine
    if machine is None:
        return np.False_
    doubt = np.False_
    for name in DIALS:
        doubt = doubt | machine.how_known(name, getattr(point.settings, name))
    return doubt


def flags(point):
    """Return what to watch at each setting: name -> booleans of the broadcast shape.

    Parameters
    ----------
    point : Likely
        The set-up and its settings.
    """
    setup, mean, limit = point.setup, point.average_current, point.current_limit
    usual = usual_polarity(setup.work, setup.electrode).polarity
    flash = setup.dielectric.flash_point
    area = np.asarray(setup.engaged_area_mm2) * mm2
    return {
        "over_current_limit": mean > limit,
        "far_over_current_limit": mean > 2 * limit,
        "no_useful_cutting": ~np.asarray(point.melts_usefully),
        "pulse_too_short": point.spark_current < point.tap_current * (1 - 1e-9),
        "unusual_polarity": np.bool_(setup.polarity != usual),
        "no_wear_figure": np.bool_(point.wear_law is None),
        "low_flash_point": np.bool_(flash is not None and flash < _LOW_FLASH),
        "not_hydrocarbon": np.bool_(not setup.dielectric.is_hydrocarbon),
        "blocked_flushing": np.bool_(setup.flushing.quality == "blocked"),
        "toxic_work": np.bool_(bool(_toxic(setup.work))),
        "smaller_than_one_spark": area < np.pi * point.crater.radius**2,
        "extrapolated": extrapolated(point),
        "finish_out_of_range": _outside(point.roughness_Ra, _RA_RANGE),
        "doubtful_dial": doubtful_dial(point),
        "fires_too_low": np.bool_(_is_circuit(point) and _too_low(point)),
    }


def _is_circuit(point):
    return isinstance(point.settings, Relaxation)


def _too_low(point):
    return point.open_voltage <= point.discharge_voltage


def _unknown_positions(point):
    machine, settings = point.setup.machine, point.settings
    if machine is None:
        return ""
    parts = []
    for name, word, unit in (
        ("peak_current_A", "current", "A"),
        ("on_time_us", "on-time", "µs"),
        ("off_time_us", "off-time", "µs"),
        ("open_voltage_V", "open-voltage", "V"),
    ):
        value = getattr(settings, name)
        if machine.how_known(name, value):
            switch = getattr(machine, name)
            label = switch.choices[switch.index(value)].label
            parts.append(f"{word} position {label} (taken as about {three(value)} {unit})")
    return " and ".join(parts)


# Each flag's sentence, knob included; the words in braces come from `_words`.
_SENTENCES = {
    "far_over_current_limit": "The mean current of about {mean} A is more than twice what this "
    "end bears (about {limit} A): arcs and pits are likely. Take a lower current position.",
    "over_current_limit": "The mean current of about {mean} A is above what this end bears "
    "(about {limit} A): take a lower current position or a longer off-time.",
    "no_useful_cutting": "No useful cutting: this current is too thin for so long a pulse. "
    "Shorten the on-time or raise the current.",
    "pulse_too_short": "The pulse ends when {amps} A of its {tap} A are reached: lengthen the "
    "on-time.",
    "unusual_polarity": "{polarity} is not usual for this pair.{eats} Switch to {usual} unless "
    "you have a reason.",
    "no_wear_figure": "There is no wear figure for this pair and polarity: burn a trial and "
    "measure the electrode before and after.",
    "low_flash_point": "This fluid can catch fire from about {flash} °C; a fire ordinance asks "
    "for 70 °C at least. Change to a fluid with a higher flash point, and never leave the "
    "machine alone.",
    "not_hydrocarbon": "The gap and the wear were gathered in hydrocarbon fluids: in water burn "
    "a trial first. Water gives off hydrogen: keep the extraction on.",
    "blocked_flushing": "A blocked flow ends in arcs and burnt pits: stop, lift, wipe both faces "
    "and reverse the flow before you go on.",
    "toxic_work": "Fumes and sludge contain {toxic}: extraction on, gloves, and collect the "
    "sludge as hazardous waste.",
    "smaller_than_one_spark": "The end of the electrode is smaller than one spark's crater: "
    "lower the current or shorten the on-time; sizes mean nothing here.",
    "extrapolated": "Extrapolated: sparks of {amps} A and {burning} µs lie outside the {currents} "
    "A and {on_times} µs of the solved craters. Trust the direction, not the figure.",
    "finish_out_of_range": "Extrapolated: a roughness of {ra} µm lies outside the 0.4 to 15 µm "
    "that the law was fitted to. Hold the first burn against a comparator.",
    "doubtful_dial": "Not known for sure: {positions}. The bands are wider for it; measure the "
    "position to narrow them.",
    "fires_too_low": "The gap fires at {fires} V, and a spark burns at {burns} V: it goes out at "
    "once. Take a higher supply or a wider gap.",
}
# The same said of a relaxation circuit, which has other knobs.
_OF_CIRCUIT = {
    "far_over_current_limit": "The mean current of about {mean} A is more than twice what this "
    "end bears (about {limit} A): arcs and pits are likely. Take a larger resistor.",
    "over_current_limit": "The mean current of about {mean} A is above what this end bears "
    "(about {limit} A): take a larger resistor.",
    "no_useful_cutting": "No useful cutting: so thin a current for so long melts nothing. Shorten "
    "the leads or charge to more volts.",
    "smaller_than_one_spark": "The end of the electrode is smaller than one spark's crater: take a "
    "smaller capacitor; sizes mean nothing here.",
}


def _words(point):
    """Return what the sentences fill in."""
    setup = point.setup
    usual = usual_polarity(setup.work, setup.electrode).polarity
    flash, costs = setup.dielectric.flash_point, usual == "electrode positive"
    wear = f" It costs about {three(100 * point.relative_wear)} % of electrode."
    return {
        "mean": three(point.average_current),
        "limit": three(point.current_limit),
        "amps": three(point.spark_current),
        "tap": three(point.tap_current),
        "burning": three(point.discharge_duration / us),
        "currents": f"{crater.CURRENTS[0]:g} to {crater.CURRENTS[1]:g}",
        "on_times": f"{crater.ON_TIMES[0] / us:g} to {crater.ON_TIMES[1] / us:g}",
        "ra": three(point.roughness_Ra / um),
        "polarity": setup.polarity.capitalize(),
        "usual": usual,
        "eats": wear if costs and point.wear_law is not None else "",
        "flash": three(np.nan if flash is None else flash - ZERO_CELSIUS),
        "toxic": " and ".join(_toxic(setup.work)),
        "positions": _unknown_positions(point),
        "fires": three(point.open_voltage),
        "burns": three(point.discharge_voltage),
    }


def sentences(point, of=None):
    """Return what to watch at one setting, as sentences that name the knob to turn.

    Parameters
    ----------
    point : Likely
        The set-up and its settings, all scalars.
    of : sequence of str or None
        Names of the flags that matter, None for all.

    Returns
    -------
    tuple of str
        The worst first; empty where there is nothing to say.
    """
    raised = {name: bool(np.all(value)) for name, value in flags(point).items()}
    if raised["far_over_current_limit"]:
        raised["over_current_limit"] = False
    order = ["far_over_current_limit", *(n for n in raised if n != "far_over_current_limit")]
    texts = _SENTENCES | (_OF_CIRCUIT if _is_circuit(point) else {})
    said = [texts[name] for name in order if raised[name] and (of is None or name in of)]
    words = _words(point) if said else {}
    return tuple(sentence.format(**words) for sentence in said)
