"""What to turn against arcs, one knob at a time, the first thing first."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Knob:
    """One thing to change, why it helps, and which way its switch turns: up 1, down -1.

    ``name`` is that of the switch, or ``flow``, ``lift_burn_s``, ``gap_front_um``.
    """

    do: str
    reason: str
    name: str = ""
    way: int = 0


# The order and the reasons: common practice, no source; signs as in Kunieda et al. (2005), CIRP
# Ann. 54(2), 64-87, from memory.
ARCS = (
    Knob("Lengthen the off-time", "the gap gets time to clear between pulses", "off_time_us", 1),
    Knob("Give more flow", "chips leave before they bridge the gap", "flow"),
    Knob("Lift oftener", "each lift draws in clean fluid", "lift_burn_s"),
    Knob("Lower the current", "each spark leaves less debris and less heat", "peak_current_A", -1),
    Knob("Raise the servo voltage", "a wider gap lets more fluid through", "gap_front_um"),
    Knob("Shorten the on-time", "a spark gets less time to settle on one spot", "on_time_us", -1),
)
