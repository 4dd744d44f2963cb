"""The whole burn, from the drawing to the card."""

from dataclasses import dataclass, replace

from edmkit.burn import predict
from edmkit.checks import one_of, require
from edmkit.planning.chance import chances
from edmkit.planning.dressing import ORDERS, Batch, Schedule, schedule
from edmkit.planning.electrode import middle_electrode_wanted
from edmkit.planning.passes import passes
from edmkit.planning.stages import FINISH, MIDDLE, ROUGH, SQUARE, WALL_KINDS, Stage, Task
from edmkit.planning.stop import Touch
from edmkit.planning.walls import ALONG, BLOCK, lump, wall_left, warming
from edmkit.words import Display, three

NUMBERS = ("the kit decides", "1", "2", "3")  # of electrodes that cut the wall


_MILLIMETRES = Display()


@dataclass(frozen=True)
class Tolerance:
    """What the drawing allows: the size of the hole and its depth, minus and plus [mm]."""

    size_minus_mm: float = 0.05
    size_plus_mm: float = 0.05
    depth_minus_mm: float = 0.1
    depth_plus_mm: float = 0.1

    def __post_init__(self):
        for name in ("size_minus_mm", "size_plus_mm", "depth_minus_mm", "depth_plus_mm"):
            require(name, getattr(self, name), 0, 10, "mm", knob="type it without its sign")
        for name in ("size", "depth"):
            width = getattr(self, f"{name}_minus_mm") + getattr(self, f"{name}_plus_mm")
            require(f"{name} tolerance", width, 0.001, 20, "mm", knob="its two numbers added up")


@dataclass(frozen=True)
class Plan:
    """A hole planned: its passes, the batch, the walls, and how likely it comes right.

    ``why`` says why so many passes. ``chance`` is None while the shop has not learned wear and
    gap: then `Pass.stop` says what can be held. ``wall`` and ``warming`` are None where the part
    was not described.
    """

    feature: object
    setup: object
    passes: tuple
    why: str
    batch: Batch
    schedule: Schedule
    tolerance: Tolerance
    touch: Touch
    wall: object
    warming: object
    chance: object

    def warnings(self, display=_MILLIMETRES):
        """Return what to watch, each sentence once, ramps, size and walls first."""
        said = [p.ramp.sentence(display) for p in self.passes if not p.ramp.borne]
        said.append(self._size_sentence(display))
        said += [thing.sentence for thing in (self.wall, self.warming) if thing is not None]
        said += [s for p in self.passes if p.kind in WALL_KINDS for s in p.burn.warnings]
        return tuple(dict.fromkeys(sentence for sentence in said if sentence))

    def _size_sentence(self, display):
        """Return whether a rod at hand leaves a hole out of tolerance, and what would not."""
        last, tolerance = self.passes[-1], self.tolerance
        off = _off_size(self.feature, last)
        if last.stage.section is None or (
            -tolerance.size_minus_mm <= off <= tolerance.size_plus_mm
        ):
            return ""
        size, change = (display.size_text(abs(off), step) for step in (0.001, 0.01))
        return (
            f"With this electrode the hole comes out {size} {'over' if off > 0 else 'under'} the "
            f"drawing's size: take an electrode {change} {'smaller' if off > 0 else 'larger'}, or "
            f"a setting with a {'smaller' if off > 0 else 'wider'} gap."
        )

    def card_html(self, gate=None, display=None, paper="A4", name=""):
        """Return the burn card: one printable page.

        Parameters
        ----------
        gate : Gate
            What was answered before the first spark; the card prints only after it.
        display : Display or None
            Millimetres or inches.
        paper : str
            'A4' or 'Letter'.
        name : str
            What the job is called.

        Raises
        ------
        Refusal
            If an answer of the gate is missing.
        """
        from edmkit.planning.card import card_html

        return card_html(self, gate, display or Display(), paper, name=name)


def propose(task, max_Ra_um=None, number=NUMBERS[0], bore_mm=0.0, square=False):
    """Return the stages of a hole, and in a sentence why so many.

    Parameters
    ----------
    task : Task
        The hole and its set-up.
    max_Ra_um : float or None
        Roughness wanted [µm]; None: any.
    number : str
        How many electrodes cut the wall: 'the kit decides', '1', '2' or '3'.
    bore_mm : float
        Bore through the first electrode [mm].
    square : bool
        Whether a dressed end squares the floor at the end.

    Notes
    -----
    One, where the fastest setting that the end bears is smooth enough, or where roughing first
    saves less than the change of electrodes costs; three, where the rough electrode's undersize
    is four times the finish electrode's or more (trade page).
    """
    one_of("passes", number, NUMBERS)
    finish = Stage(FINISH, max_Ra_um=max_Ra_um)
    rough = Stage(ROUGH, bore_mm=bore_mm)
    alone = replace(finish, bore_mm=bore_mm, kind=FINISH if max_Ra_um else ROUGH)
    if number == NUMBERS[0]:
        wanted, why = _number_wanted(task, max_Ra_um, alone, rough)
    else:
        wanted, plural = int(number), "" if number == "1" else "s"
        why = f"{'One' if wanted == 1 else number} electrode{plural}, as asked for."
    made = {1: (alone,), 2: (rough, finish)}.get(wanted)
    made = made or (rough, _middle(task, rough, finish), finish)
    return (*made, Stage(SQUARE, max_Ra_um=max_Ra_um)) if square else made, why


def _middle(task, rough, finish):
    """Return the middle stage: half-way in roughness between its neighbours, on a ratio scale."""
    fast, fine = (_burn(task, stage) for stage in (rough, finish))
    middle = (fast.roughness_Ra_um.likely * fine.roughness_Ra_um.likely) ** 0.5
    return Stage(MIDDLE, max_Ra_um=float(middle))


def _burn(task, stage):
    setup = task.end_of(task.feature.shape, stage.bore_mm)
    settings, _ = task.at(setup, stage)
    return predict(setup, settings, task.shop)


def _number_wanted(task, max_Ra_um, alone, rough):
    """Return how many electrodes, and why."""
    fast = _burn(task, rough)
    Ra = float(fast.roughness_Ra_um.likely)
    if max_Ra_um is None:
        return 1, "One electrode: no roughness is asked for."
    if max_Ra_um >= Ra:
        return 1, (f"One electrode: the fastest setting this end bears leaves about Ra {three(Ra)}"
                   " µm, which is smooth enough.")  # fmt: skip
    fine = _burn(task, alone)
    feature = task.feature
    whole = float(feature.removed_volume_mm3(feature.reach_mm()))
    once = float(fine.minutes(whole).likely)
    made = passes(task, (rough, Stage(FINISH, max_Ra_um=max_Ra_um)))
    changes = 2 / task.batch.count if task.batch.order == ORDERS[1] else 1
    twice = sum(float(p.minutes.likely) for p in made) + changes * task.batch.dress_min
    if once <= twice:
        return 1, (
            f"One electrode: it takes about {three(once)} minutes at the fine setting; roughing "
            f"first, with the change, about {three(twice)}."
        )
    under = [p.sizing.undersize_mm for p in made]
    if middle_electrode_wanted(*under):
        return 3, (
            f"Three electrodes: the rough one is {three(under[0])} mm under size per side, more "
            f"than four times the {three(under[1])} mm of the finish one, so one stands between."
        )
    return 2, (
        f"Two electrodes: about {three(twice)} minutes with the change, against {three(once)} "
        "with the fine setting alone."
    )


def plan(feature, setup, stages=None, shop=None, *, max_Ra_um=None, number=NUMBERS[0],
         bore_mm=0.0, square=False, change=None, like=None, touch=None, batch=None,
         tolerance=None, part=None, cut="at once", switch_repeat_mm=0.005):  # fmt: skip
    """Return the whole burn of a hole planned.

    Parameters
    ----------
    feature : Feature
        The hole on the drawing.
    setup : Setup
        Work, electrode, fluid, flushing, machine; its area is replaced by that of each pass.
    stages : sequence of Stage or None
        The passes; None: the kit decides from ``max_Ra_um`` [µm], ``number``, ``bore_mm`` [mm] of
        the first electrode and ``square`` (square the floor last).
    change : callable or None
        Takes the stages that the kit proposes and returns those wanted.
    shop : Shop or None
        What the shop has learned.
    like : Settings or None
        Lift, voltage and gap for settings that the kit picks.
    touch, batch, tolerance, part : Touch, Batch, Tolerance, Part or None
        How it is touched off; how many; what the drawing allows; the part around the hole.
    cut, switch_repeat_mm : str, float
        'at once' or 'spark out' when the stop trips; how well its switch repeats [mm].

    Raises
    ------
    Refusal
        If a number is outside its range or an electrode cannot be made; it says which to change.
    """
    touch, batch, tolerance = touch or Touch(), batch or Batch(), tolerance or Tolerance()
    task = Task(feature, setup, shop, like, touch, batch, cut, switch_repeat_mm,
                tolerance.size_minus_mm, tolerance.size_plus_mm)  # fmt: skip
    why = ""
    if stages is None:
        stages, why = propose(task, max_Ra_um, number, bore_mm, square)
        stages = stages if change is None else change(stages)
    made = passes(task, tuple(stages))
    wall, warm = _part_of(task, part, made)
    return Plan(
        feature, setup, made, why, batch,
        schedule(batch, [(p.minutes, float(p.end_wear_mm.likely), p.dressing,
                          getattr(p.settings, "burn_share", 1.0)) for p in made]),
        tolerance, touch, wall, warm, _chance(task, made, tolerance),
    )  # fmt: skip


def _part_of(task, part, made):
    """Return the remaining wall and how warm the part gets, None where there is no part."""
    if part is None:
        return None, None
    last, feature, metal = made[-1], task.feature, task.setup.work
    beside = part.kind in (BLOCK, ALONG)  # a through hole has no floor to look at
    wall = None if feature.through and not beside else wall_left(
        part, feature.shape, feature.floor_below_crown_mm, feature.offset_mm,
        location_mm=2 * task.batch.relocate_mm,
        recast_mm=float(last.burn.recast_um.high) / 1000, turn_deg=feature.turn_deg,
    )  # fmt: skip
    body = lump(part, metal.density)
    if body is None:
        return wall, None
    longest = max(made, key=lambda p: float(p.minutes.likely))
    power = task.setup.electrode.discharge_voltage * float(longest.burn.average_current_A.likely)
    share = getattr(longest.settings, "burn_share", 1.0)
    return wall, warming(power, float(longest.minutes.likely), *body, metal, share)


def _off_size(feature, last):
    """Return how far the hole is likely to come out over the drawing's size [mm]."""
    return last.cavity.smallest_width_mm - feature.shape.smallest_width_mm


def _chance(task, made, tolerance):
    """Return the chance of depth and size, None while the shop does not know wear and gap."""
    last = made[-1]
    known = task.shop is not None and all(
        task.shop.knows(name, last.setup) for name in ("relative_wear", "gap_side")
    )
    if not known:
        return None
    return chances(
        last.stop, last.burn, last.end_wear_mm,
        depth_tolerance_mm=(tolerance.depth_minus_mm, tolerance.depth_plus_mm),
        size_tolerance_mm=(tolerance.size_minus_mm, tolerance.size_plus_mm),
        size_off_mm=_off_size(task.feature, last),
    )  # fmt: skip
