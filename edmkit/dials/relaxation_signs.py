"""Is it a relaxation circuit, that is capacitors that fire by themselves? What its parts show."""

from dataclasses import dataclass

from edmkit.checks import Refusal, one_of
from edmkit.dials.load_sizing import BleedAdvice, bleed_advice
from edmkit.physics.relaxation import BEST_BREAKDOWN_SHARE, relaxation_spark
from edmkit.units import mJ, uF
from edmkit.words import three, two

RELAXATION, PULSES, UNSURE = "relaxation circuit", "pulse generator", "cannot tell"
_ENOUGH = 3  # points for one side; assumption


@dataclass(frozen=True)
class Sign:
    """A question that yes or no answers, and how much each speaks for a relaxation circuit.

    ``seen`` and ``unseen`` say the answer back. The points are an assumption: how sure the trade
    is of each sign.
    """

    ask: str
    yes: int
    no: int
    seen: str
    unseen: str


# Easiest first. That a relaxation circuit is silent on a short follows from the circuit: the
# supply drives a steady current through the charging resistor. The rest is common practice.
SIGNS = {
    "times": Sign(
        "Has it switches for on-time and off-time (or pulse and pause, or frequency)?",
        -3, 1, "it has switches for the times", "it has no switches for the times",
    ),
    "capacitors": Sign(
        "Does the switch for the finish put in more or fewer capacitors (large tins, marked µF)?",
        2, -1, "its finish is set by capacitors", "no capacitors are switched",
    ),
    "buzz": Sign(
        "Electrode pressed on scrap: do you hear a steady buzz or whine?",
        -3, 2, "it buzzes when pressed on scrap", "it is silent when pressed on scrap",
    ),
    "stays": Sign(
        "Electrode up, then switched off: does the voltmeter take a second or more to fall?",
        2, -1, "its voltage stays after switching off", "its voltage is gone at once",
    ),
    "resistor": Sign(
        "Does a large wire resistor, or a row of lamps, glow or get hot while it burns?",
        1, -1, "a large resistor gets hot", "no large resistor gets hot",
    ),
}  # fmt: skip

AT_ITS_GAP = (
    " Capacitors as well: some pulse generators put them across the gap for a fine finish. Take "
    "them off for these readings."
)
ASK_SOMEBODY = "Ask for the wiring diagram, or let an electrician look."
NOT_THIS_FILE = (
    "A machine file holds switched pulses, not a relaxation circuit: this page cannot write one "
    "for it."
)


@dataclass(frozen=True)
class Verdict:
    """`RELAXATION`, `PULSES` or `UNSURE`; why; and the question to answer next, "" if none."""

    word: str
    why: str
    ask: str = ""


def is_relaxation(answers):
    """Return whether the signs speak of a relaxation circuit, as a `Verdict`.

    Parameters
    ----------
    answers : dict
        A sign of `SIGNS` to True or False; one that is left out, or None, was not looked at.

    Raises
    ------
    Refusal
        If a sign is none of them, or an answer is neither yes nor no.

    Notes
    -----
    A sum of points; common practice, no source, but for the silence on a short, which is circuit
    theory. A buzz above 15 kHz is not heard.
    """
    known = {name: said for name, said in answers.items() if said is not None}
    for name, said in known.items():
        one_of("sign", name, SIGNS)
        if not isinstance(said, bool):
            raise Refusal(f"{name} must be True, False or None, got {said!r}: yes or no.")
    points = {n: SIGNS[n].yes if said else SIGNS[n].no for n, said in known.items()}
    total = sum(points.values())
    word = RELAXATION if total >= _ENOUGH else PULSES if total <= -_ENOUGH else UNSURE
    ask = next((sign.ask for name, sign in SIGNS.items() if name not in known), ASK_SOMEBODY)
    why = _why(known, points, word)
    if word == PULSES and known.get("capacitors"):
        why += AT_ITS_GAP
    return Verdict(word, why, ask if word == UNSURE else "")


def _why(known, points, word):
    """Return the answers that speak for the verdict, or what there is of both sides."""
    if not known:
        return "Nothing looked at yet."
    side = {RELAXATION: 1, PULSES: -1}.get(word, 0)
    told = [n for n in SIGNS if n in known and points[n] * side >= 0]
    said = ", ".join(SIGNS[n].seen if known[n] else SIGNS[n].unseen for n in told)
    return f"{said[0].upper()}{said[1:]}."


@dataclass(frozen=True)
class RelaxationMeans:
    """What a relaxation circuit does at best, and what its capacitors do to a hand."""

    energy_mJ: float
    charge_s: float
    sparks_per_s: float
    power_W: float
    bleed: BleedAdvice
    sentence: str


def relaxation_means(resistance_ohm, capacitance_uF, supply_V):
    """Return what a relaxation circuit does at best power, as `RelaxationMeans`.

    Parameters
    ----------
    resistance_ohm, capacitance_uF, supply_V : float
        Charging resistor [ohm], capacitors that are switched in [µF], supply [V].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    The gap is taken to fire at 72 % of the supply, where the power is best; the capacitor that
    stays charged after switching off is taken at the whole supply. No losses.

    References
    ----------
    `physics.relaxation.relaxation_spark`; circuit theory.
    """
    bleed = bleed_advice(capacitance_uF, supply_V)
    fires = BEST_BREAKDOWN_SHARE * supply_V
    spark = relaxation_spark(resistance_ohm, capacitance_uF * uF, supply_V, fires)
    rate = 1 / spark.charge_time
    sentence = (
        f"At best it fires at {two(fires)} V: {three(spark.energy / mJ)} mJ a spark, "
        f"{two(rate)} sparks a second, {two(spark.power)} W."
    )
    return RelaxationMeans(
        float(spark.energy / mJ), float(spark.charge_time), float(rate), float(spark.power),
        bleed, sentence,
    )  # fmt: skip
