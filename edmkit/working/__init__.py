"""The working behind a burn: each formula with this setting's numbers, and where each is from.

Every value comes from the call that `predict` makes; the tests work each formula out from the
numbers it shows and hold it against that value. Lengths are in µm and mm, times in µs.
"""

from edmkit.checks import Refusal
from edmkit.settings import Relaxation
from edmkit.working.answers import (
    electrode_wear,
    heat,
    minutes,
    minutes_band,
    removal_rate,
    roughness,
    side_gap,
)
from edmkit.working.formula import Sheet
from edmkit.working.pulses import current_limit, meters, meters_of_circuit, pulse_shares
from edmkit.working.spark import one_spark, pulse_generator, relaxation_circuit


def steps(burn, hole=None):
    """Return the working of a burn at one setting, step by step.

    Parameters
    ----------
    burn : Burn
        From `predict`, of one setting.
    hole : Hole or None
        The hole it is part of; None leaves out minutes, end wear and dial step.

    Returns
    -------
    tuple of Step
        In the order they are worked out: a step only uses results before it.

    Raises
    ------
    Refusal
        If the burn is of several settings.
    """
    if burn.shape != ():
        raise Refusal(
            f"the working is of one setting, got settings of shape {burn.shape}: predict one."
        )
    sheet, circuit = Sheet(), isinstance(burn.settings, Relaxation)
    (relaxation_circuit if circuit else pulse_generator)(sheet, burn)
    one_spark(sheet, burn)
    current_limit(sheet, burn)
    if not circuit:
        pulse_shares(sheet, burn)
    removal_rate(sheet, burn)
    if hole is not None:
        minutes(sheet, burn, hole)
    minutes_band(sheet, burn)
    roughness(sheet, burn)
    side_gap(sheet, burn)
    electrode_wear(sheet, burn, hole)
    (meters_of_circuit if circuit else meters)(sheet, burn)
    heat(sheet, burn)
    return tuple(sheet.steps)
