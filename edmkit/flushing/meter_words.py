"""What a reading of the meters means at the machine: the word, what to check, one knob at a time.

Signs, and the order of the knobs against shorts and open pulses: common practice, no source.
"""

import numpy as np

from edmkit.flushing.knob_order import ARCS, Knob

HEALTHY, ARCING, SHORTING, OPEN, UNSURE = "healthy", "arcing", "shorting", "open", "cannot tell"


_KNOBS = {
    HEALTHY: (),
    UNSURE: (),
    ARCING: ARCS,
    SHORTING: (
        Knob("Lift oftener or higher, or give more flow", "a chip bridge breaks and is washed out"),
        Knob("Draw the fluid off by gentle suction", "chips leave by the bore, not along the wall"),
        Knob("Reverse the flushing for a while", "a clogged way clears backwards"),
        Knob("Raise the servo voltage a little", "the electrode keeps clear of the work"),
    ),
    OPEN: (
        Knob("Lower the servo voltage a little", "the electrode comes closer and the gap fires"),
        Knob("Give less flow", "a slightly dirty gap sparks more easily than a clean one"),
    ),
}  # fmt: skip
_CHECKS = {
    HEALTHY: "Nothing to check: an even sound and small bubbles go with this. Go on.",
    ARCING: "Stop, lift and clean both faces: look for a burnt pit or a carbon nub.",
    SHORTING: "Stop, lift and clean: look for a chip bridge, a burr, a bent pip, or the electrode "
    "touching.",
    OPEN: "See that the electrode is down at the work and its slide moves freely.",
    UNSURE: "Find out which before you settle on a knob.",
}
_MEANS = {
    HEALTHY: "Most pulses spark well.",
    ARCING: "Many pulses burn at once, without a wait: arcs, which dig in one spot.",
    SHORTING: "Many pulses meet a bridge: current flows, but there is no voltage.",
    OPEN: "Many pulses find the gap too wide or too clean: they wait long or stay open.",
}
_LOOK = "Look and listen: hissing, a yellow flash or smoke from one spot is an arc; an even sound "
_ASKS = {
    frozenset((HEALTHY, OPEN)): "Lower the servo voltage a little: if the dial then feeds faster, "
    "the gap was too wide.",
    frozenset((ARCING, SHORTING)): "Watch the voltmeter's needle for a minute: one that drops to "
    "0 and comes back shows shorts, one that stays low shows arcs.",
    frozenset((SHORTING, OPEN)): "Watch the voltmeter's needle for a minute: swings between 0 and "
    "the open voltage show a servo that hunts; turn its speed down.",
}


def _or(words):
    return " or ".join(words)


def _two(chances):
    """Return the two words with the greatest chances, the greater first."""
    return sorted(chances, key=chances.get, reverse=True)[:2]


def why(verdict, chances, dial, together):
    """Return the sentences that say why the meters are read so.

    Parameters
    ----------
    verdict, dial : str
        The word for the pulses, and what the dial does.
    chances : dict
        Chance of each word.
    together : bool
        Whether meters and dial go together.
    """
    if not together:
        return (
            f"A dial that is {dial} does not go with these meters, which look "
            f"{_two(chances)[0]}: read all three again."
        )
    if verdict == UNSURE:
        pair = (f"{word} ({100 * chances[word]:.0f} of 100)" for word in _two(chances))
        return f"{_or(pair).capitalize()}: both explain what you read."
    return (
        f"{_MEANS[verdict]} {100 * chances[verdict]:.0f} of 100 that this is so, on assumed odds."
    )


def check_first(verdict, chances):
    """Return what to check before a knob is turned."""
    if verdict == UNSURE and set(_two(chances)) == {ARCING, SHORTING}:
        return "Stop, lift and clean both faces, whichever of the two it is."
    return _CHECKS[verdict]


def knobs_for(verdict, burn):
    """Return what to change, one at a time in this order; dials at their end are left out."""
    return tuple(knob for knob in _KNOBS[verdict] if _turns(knob, burn))


def _turns(knob, burn):
    """Return whether a knob's dial has a position left in its direction."""
    if not knob.way or burn.setup.machine is None:
        return True
    values = np.asarray(getattr(burn.setup.machine, knob.name).values)
    return bool(np.any(knob.way * values > knob.way * getattr(burn.settings, knob.name)))


def ask_next(reading):
    """Return which reading or look would tell more.

    Parameters
    ----------
    reading : Reading
        From `read_meters`.
    """
    if reading.voltmeter_V is None:
        return "Read the voltmeter too: it tells sparks from shorts and from open pulses."
    if reading.ammeter_A is None:
        return "Read the ammeter too: it tells a wide gap from one that sparks."
    if reading.dial is None:
        return "Watch the dial for a minute: good sparks feed it, arcs and shorts do not."
    if reading.verdict == HEALTHY:
        return "Nothing more to read."
    if reading.verdict != UNSURE:
        return "Nothing more to read. Change one knob, wait a minute, read again."
    return _ASKS.get(frozenset(_two(reading.chances)), f"{_LOOK}and small bubbles are healthy.")
