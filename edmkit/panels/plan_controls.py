"""The controls of page 03: the hole, where its depth counts from, the passes, the batch."""

from typing import ClassVar

import ipywidgets as widgets

from edmkit.panels.plan_group import Group
from edmkit.panels.plan_job import (
    CUTS,
    DATUMS,
    FLAT,
    KEYWAY,
    NO_PART,
    PARTS,
    PLACES,
    PLAN_FACES,
    PLAN_SHAPES,
    POLYGON,
    ROUND,
    SLOT,
    TOUCHES,
)
from edmkit.planning.dressing import ORDERS
from edmkit.planning.plan import NUMBERS as HOW_MANY
from edmkit.planning.walls import BLOCK, TUBE

_SIZE_WORD = {ROUND: "Diameter", SLOT: "Length", POLYGON: "Across flats", KEYWAY: "Width"}
_TOLERANCE = (0, 10, "mm", None)
_LIFT_UP_S = 1.0  # stands there until another is typed; assumption
_DEPTH_WORDS = (
    ("the crown (in a bore: its line)", DATUMS[0]),
    ("the face at the hole's centre", DATUMS[1]),
    ("where the end touches first", DATUMS[2]),
)
_PLACE_WORDS = (
    ("in place, over the hole", PLACES[0]),
    ("beside the hole, on crown or face", PLACES[1]),
    ("on a datum face", PLACES[2]),
)
_TOUCH_WORDS = (
    ("contact: lamp or buzzer", TOUCHES[0]),
    ("first spark", TOUCHES[1]),
    ("a feeler under the end", TOUCHES[2]),
)
_CUT_WORDS = (("the current goes off at once", CUTS[0]), ("it sparks out", CUTS[1]))
_LONGEST_NAME = 60  # characters; the card has one line for it


class HoleGroup(Group):
    """What the drawing says of the hole and of the part around it."""

    QUESTION = "Which hole?"
    NUMBERS: ClassVar = {
        "size": ("Diameter", 0.05, 1000, "mm", None),
        "second": ("Width", 0.05, 1000, "mm", None),
        "sides": ("Sides", 3, 100, "", None),
        "corner": ("Corner radius", 0, 500, "mm", None),
        "key_bore": ("Hub's bore", 0.1, 1000, "mm", None),
        "size_plus": ("Size: plus", *_TOLERANCE),
        "size_minus": ("Size: minus", *_TOLERANCE),
        "depth": ("Depth", 0.001, 1000, "mm", None),
        "depth_plus": ("Depth: plus", *_TOLERANCE),
        "depth_minus": ("Depth: minus", *_TOLERANCE),
        "corner_max": ("Corner, most", 0.001, 100, "mm", "any"),
        "face_diameter": ("Its diameter", 0.5, 10_000, "mm", None),
        "offset": ("Off its middle", -1000, 1000, "mm", None),
        "turn": ("Turned by", -360, 360, "°", None),
        "already_cut_per_side": ("Cut before, left", 0.001, 500, "mm", "none cut"),
        "already_cut_corner": ("Its corners", 0, 500, "mm", "same"),
        "part_diameter": ("Part diameter", 0.1, 10_000, "mm", None),
        "part_bore": ("Part bore", 0.01, 10_000, "mm", None),
        "part_length": ("Part length", 0.01, 10_000, "mm", "-"),
        "part_pitch": ("Next hole at", 0.01, 10_000, "mm", "none"),
    }
    PICKS: ClassVar = {
        "shape": ("Shape", PLAN_SHAPES),
        "face": ("Starts on", PLAN_FACES),
        "part_kind": ("Part around it", PARTS),
    }
    TICKS: ClassVar = {"through": "The hole goes right through"}
    ROWS = (
        ("shape", "size", "second", "sides", "corner", "key_bore"),
        ("size_plus", "size_minus", "corner_max"),
        ("depth", "depth_plus", "depth_minus", "already_cut_per_side", "already_cut_corner"),
        ("face", "face_diameter", "offset", "turn"),
        ("part_kind", "part_diameter", "part_bore", "part_length", "part_pitch"),
    )
    WIDE = ("shape", "face", "part_kind")

    def __init__(self, job):
        self.name = widgets.Text(
            job.name,
            description="Name of the job",
            placeholder="name of the job, for the card",
            continuous_update=False,
            style={"description_width": "0px"},
            layout={"width": "100%", "max_width": "420px", "margin": "0"},
        )
        super().__init__(job)

    def _arranged(self):
        heading, *rest = super()._arranged()
        return [heading, self.name, *rest]

    @property
    def curved(self):
        """Whether the hole starts on a curved face."""
        return self.picks["shape"].value != KEYWAY and self.picks["face"].value != FLAT

    @property
    def through(self):
        """Whether the hole goes right through."""
        return self.ticks["through"].value and not self.curved

    def arrange(self):
        """Show the numbers that this shape, face and part have."""
        shape, part = self.picks["shape"].value, self.picks["part_kind"].value
        cornered, keyway = shape in (SLOT, KEYWAY), shape == KEYWAY
        cut = self.numbers["already_cut_per_side"].value is not None
        self.numbers["size"].rename(_SIZE_WORD[shape])
        self.numbers["second"].rename("Top over bore" if keyway else "Width")
        self.numbers["depth"].rename("Thickness" if self.through else "Depth")
        self.show_only(
            second=cornered, corner=cornered, key_bore=keyway, sides=shape == POLYGON,
            face=not keyway, face_diameter=self.curved, offset=self.curved,
            turn=self.curved and shape != ROUND, through=not self.curved,
            depth_plus=not self.through, depth_minus=not self.through,
            already_cut_corner=cut and cornered,
            part_diameter=part not in (NO_PART, BLOCK), part_bore=part == TUBE,
            part_length=part not in (NO_PART, BLOCK), part_pitch=part != NO_PART,
        )  # fmt: skip

    @property
    def values(self):
        """The hole as fields of a job."""
        return {**super().values, "name": self.name.value.strip()[:_LONGEST_NAME]}

    def take(self, job):
        """Set the controls to a job."""
        self.name.value = job.name
        super().take(job)

    def on_change(self, callback):
        """Call back when anything of the hole has changed."""
        super().on_change(callback)
        self.name.observe(lambda _: callback(), "value")


class DepthGroup(Group):
    """Where the drawing's depth counts from, and where and how the end is touched off."""

    QUESTION = "Where does the depth count from, where do you touch off?"
    NUMBERS: ClassVar = {
        "feeler": ("Feeler", 0.001, 5, "mm", None),
        "datum_above": ("Stands above by", -1000, 1000, "mm", None),
        "touch_repeat": ("Repeats to ±", 0, 1, "mm", None),
        "switch_repeat": ("Trips to ±", 0, 1, "mm", None),
    }
    PICKS: ClassVar = {
        "depth_from": ("Depth counts from", _DEPTH_WORDS),
        "touch_place": ("Touched off where", _PLACE_WORDS),
        "touch_kind": ("Touched off by", _TOUCH_WORDS),
        "cut": ("When the stop trips", _CUT_WORDS),
    }
    ROWS = (
        ("depth_from",),
        ("touch_place", "datum_above"),
        ("touch_kind", "feeler", "touch_repeat"),
        ("cut", "switch_repeat"),
    )
    WIDE = ("depth_from", "touch_place", "touch_kind", "cut")

    def arrange(self):
        """Show what applies to this hole and touch."""
        self.show_only(
            depth_from=self.hole is None or self.hole.curved,
            feeler=self.picks["touch_kind"].value == TOUCHES[2],
            datum_above=self.picks["touch_place"].value == PLACES[2],
        )


class PassGroup(Group):
    """How smooth it must be, how many electrodes, and what is at hand."""

    QUESTION = "How smooth, how many passes?"
    NUMBERS: ClassVar = {
        "max_Ra_um": ("Ra at most", 0.05, 50, "µm", "any"),
        "bore": ("Electrode bore", 0, 100, "mm", None),
        "rod": ("Rod at hand", 0.05, 1000, "mm", "none"),
        "orbit": ("Orbit radius", 0, 10, "mm", None),
        "flats": ("Flats on an insert", 1, 12, "", "none"),
        "flat_depth": ("Filed by", 0.01, 10, "mm", None),
        "lift_burn_s": ("Lift: burns", 0.05, 120, "s", "no lift"),
        "lift_up_s": ("Lift: then up", 0.05, 120, "s", "-"),
    }
    PICKS: ClassVar = {"passes": ("Electrodes", HOW_MANY)}
    _lifts = True
    TICKS: ClassVar = {
        "pip_pass": "Take the pip down with a solid end",
        "square_floor": "Square the floor at the end, with a freshly dressed end",
    }
    ROWS = (("max_Ra_um", "passes", "bore", "rod", "orbit", "flats", "flat_depth",
             "lift_burn_s", "lift_up_s"),)  # fmt: skip
    WIDE = ("passes",)

    def for_machine(self, machine):
        """Offer the lift that a machine has; its times go to the nearest of the timer.

        Parameters
        ----------
        machine : Machine or None
            None can do anything.
        """
        self._lifts = machine is None or machine.lift is not None
        for name in ("burn_s", "up_s"):
            low, high = self.NUMBERS[f"lift_{name}"][1:3]
            if machine is not None and self._lifts:
                low, high = getattr(machine.lift, name)
            self.limits[f"lift_{name}"] = low, high
            seconds = self.numbers[f"lift_{name}"].value
            nearest = None if seconds is None else min(max(seconds, low), high)
            self.fill(**{f"lift_{name}": nearest})
        self.arrange()

    @property
    def values(self):
        """The passes as fields of a job; a machine without a lift does not lift."""
        found = super().values
        if not self._lifts or found["lift_burn_s"] is None:
            found["lift_burn_s"] = found["lift_up_s"] = None
        return found

    def arrange(self):
        """Show what this hole and these electrodes can have."""
        through = self.hole is not None and self.hole.through
        shape = ROUND if self.hole is None else self.hole.picks["shape"].value
        lifting = self._lifts and self.numbers["lift_burn_s"].value is not None
        if lifting and self.numbers["lift_up_s"].value is None:
            self.fill(lift_up_s=_LIFT_UP_S)
        self.numbers["rod"].rename("Rod at hand" if shape == ROUND else "Across flats at hand")
        rod, bored = self.numbers["rod"].value is not None, self.numbers["bore"].value > 0
        tube = shape == ROUND and rod and bored
        self.show_only(
            rod=shape in (ROUND, POLYGON), flats=tube,
            flat_depth=tube and self.numbers["flats"].value is not None,
            lift_burn_s=self._lifts,
            lift_up_s=lifting,
            pip_pass=bored and not through,
            square_floor=not through,
        )  # fmt: skip


class BatchGroup(Group):
    """How many, in what order, and the minutes beside the burning."""

    QUESTION = "How many, in what order?"
    NUMBERS: ClassVar = {
        "parts": ("Parts", 1, 10_000, "", None),
        "holes": ("Holes in each", 1, 10_000, "", None),
        "relocate": ("Place again ±", 0, 10, "mm", None),
        "load_min": ("Load a part", 0, 600, "min", None),
        "drain_min": ("Drain and fill", 0, 600, "min", None),
        "dress_min": ("Dress or change", 0, 600, "min", None),
        "usable": ("Usable length", 0.1, 1000, "mm", None),
        "corner_per_wear": ("Edge / end wear", 0, 20, "", None),
    }
    PICKS: ClassVar = {"order": ("Order", ORDERS)}
    TICKS: ClassVar = {"touch_again": "Each hole is touched off anew"}
    ROWS = (
        ("parts", "holes", "relocate", "usable", "order", "load_min", "drain_min", "dress_min",
         "corner_per_wear"),
    )  # fmt: skip
    WIDE = ("order",)

    def arrange(self):
        """Show what this many parts ask for."""
        parts, holes = self.numbers["parts"].value, self.numbers["holes"].value
        self.show_only(order=parts > 1, relocate=parts > 1, touch_again=parts * holes > 1)
