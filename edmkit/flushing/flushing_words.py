"""What a window of flushing says at the machine: enough or not, and which way to move."""

import numpy as np

from edmkit.flushing.two_cups import PIP
from edmkit.flushing.window import ENOUGH, LITTLE
from edmkit.words import three, two

# The end of what is usual, where no machine file names one; from memory.
USABLE_kPa = {"suction": 35.0, "pressure": 70.0, "side jet": 70.0}
MOST_kPa = 300.0  # nobody needs to know how much more


def _push(window):
    return {"side jet": "pressure at the jet"}.get(window.kind, window.kind)


def _drive(window):
    """Return what drives the fluid, in words."""
    if window.pressure_kPa is None:
        return "lifts" if window.flow_ml_per_min.likely else "nothing"
    return f"{three(window.pressure_kPa)} kPa of {_push(window)}"


def _why_not(window):
    """Return why the kind of flushing that was picked does not reach the gap, or nothing."""
    if window.kind in ("suction", "pressure") and window.pressure_kPa is None:
        return f"The electrode has no bore, so {window.kind} does not pass through the gap. "
    return ""


def _flow(window):
    flow = window.flow_ml_per_min
    if not flow.likely:
        return f"{_why_not(window)}Without a lift nothing renews the gap. "
    drive = _drive(window)
    brings = "bring" if drive == "lifts" else "brings"
    return (
        f"{_why_not(window)}{drive[0].upper()}{drive[1:]} {brings} about {two(flow.likely)} ml a "
        f"minute through the gap ({two(flow.low)} to {two(flow.high)}). {too_strong(window)}"
    )


def too_strong(window):
    """Return that the pressure is more than the machine file names, or nothing.

    Parameters
    ----------
    window : Window
        From `window`.
    """
    most = window.machine_kPa
    if window.pressure_kPa is None or not most or window.pressure_kPa <= most:
        return ""
    return f"The machine file names {three(most)} kPa at most. "


def headline(window):
    """Return the word and its chance: ``Enough, likely (71 of 100)``.

    Parameters
    ----------
    window : Window
        From `window`.
    """
    chance = 100 * window.chances[window.word]
    return f"{window.word.capitalize()}, likely ({chance:.0f} of 100)"


def line(window):
    """Return one line: is it enough, and which way to move.

    Parameters
    ----------
    window : Window
        From `window`.
    """
    moves = "" if window.word == ENOUGH else f" {moves_of(window)[0]}"
    return f"Flushing: {headline(window).lower()}. {_flow(window).strip()}{moves}"


def _stronger(window):
    """Return the sentence on more suction or pressure, or nothing where it cannot help."""
    if not window.pressures_kPa:
        return ""
    wanted, push = window.pressures_kPa[0], _push(window)
    most = window.machine_kPa or USABLE_kPa[window.kind]
    if wanted > most:
        whose = "this machine's" if window.machine_kPa else "the usual"
        takes = f"over {three(MOST_kPa)}" if wanted > MOST_kPa else two(wanted)
        gas = ""
        if window.kind == "suction":
            gas = f", and this fluid gives off gas at {three(window.stands_kPa)}"
        return (
            f"More {push} alone does not do it: it would take {takes} kPa, {whose} end is "
            f"{three(most)}{gas}."
        )
    return f"More {push}: from {two(wanted)} kPa the gap clears."


def moves_of(window):
    """Return which way to move, sentences, the first thing to do first.

    Parameters
    ----------
    window : Window
        From `window`.

    Notes
    -----
    Common practice, no source: flushing first, second and third; one knob at a time.
    """
    if window.word == LITTLE:
        burn = window.lift_burn_s_most
        lift = "Lift oftener" if window.lift_share else "Let the head lift"
        lifts = lift if np.isfinite(burn) else ""
        if lifts and burn < 0.2:
            lifts += "; lifts alone do not do it: the gap fills within a fifth of a second"
        elif lifts:
            lifts += f": burn {two(burn)} s at most between lifts"
        bore = ""
        if window.kind in ("suction", "pressure") and window.pressure_kPa is None:
            bore = f"Bore the electrode, so that {window.kind} passes through the gap."
        pip = ""
        if window.meter == PIP:
            pip = "Snap off the pip and wash it out: the gap around it holds most of the flow back."
        ways = (pip, _stronger(window), bore, f"{lifts}." if lifts else "",
                "Lengthen the off-time by one position.", "Take a lower current.")  # fmt: skip
        return tuple(way for way in ways if way)
    if window.word == ENOUGH:
        return ()
    softer = ""
    if window.pressures_kPa:
        softer = (
            f"Less {_push(window)}: below {two(window.pressures_kPa[1])} kPa sparks find debris."
        )
    ways = (softer, "Lower the servo voltage, so that the gap closes.",
            "Lift less often, if the timer works.")  # fmt: skip
    return tuple(way for way in ways if way)
