"""Fluid through a gap: how much passes, and which part of its way meters it."""

import warnings
from dataclasses import dataclass, field

import numpy as np

from edmkit.checks import RangeWarning, Refusal, require
from edmkit.physics.passage import Passage
from edmkit.units import kPa

LAMINAR, TURBULENT = 2000.0, 4000.0  # Reynolds numbers between which flow changes, from memory
_SPAN = np.log(TURBULENT / LAMINAR)
_CLOSE, _STEPS = 1e-10, 60  # of the flow; the worst of 6000 ways took 8 steps


@dataclass(frozen=True)
class Beside:
    """Ways beside each other: each part a `Passage`, a `Beside`, or a tuple of them in series."""

    parts: tuple
    name: str = "side by side"


@dataclass(frozen=True)
class Flow:
    """What passes through a way of several parts in series.

    ``rate`` [m³/s]; ``names`` of the parts; pressure that each holds, ``drops`` [Pa]; their
    Reynolds numbers, ``reynolds`` [-], of ways beside each other the largest.
    """

    rate: float
    names: tuple
    drops: tuple
    reynolds: tuple = field(repr=False)

    @property
    def shares(self):
        """Return the share of the pressure that each part holds [-]."""
        whole = sum(self.drops)
        return tuple(drop / whole for drop in self.drops)

    @property
    def meter(self):
        """Return the name of the part that holds most of the pressure: it meters the flow."""
        drops = np.stack(np.broadcast_arrays(*self.drops))
        return np.array(self.names)[np.argmax(drops, axis=0)]


def _viscosity(viscosity):
    return require("viscosity", viscosity, 1e-4, 1, "Pa s", knob="2 mPa s is 2e-3 Pa s")


def _density(density):
    return require("density", density, 500, 2000, "kg/m³", knob="oil has about 800 kg/m³")


def _flow(flow):
    return require("flow", flow, 0, 10, "l/s", 1e-3, "6 ml/min is 1e-7 m³/s")


def _speed_number(passage, flow, viscosity, density):
    return density * flow / passage.area * passage.hydraulic_diameter / viscosity


def _drop(passage, flow, viscosity, density):
    """Return the pressure that a flow takes [Pa] and its slope over the flow [Pa s/m³]."""
    number = _speed_number(passage, flow, viscosity, density)
    slow = viscosity / passage.conductance  # pressure a flow, laminar
    head = density / (2 * passage.area**2)  # of a speed head a flow squared
    tube = passage.length / passage.hydraulic_diameter
    with np.errstate(divide="ignore", invalid="ignore"):
        # Blasius over laminar; an opening has no wall and stays as it is
        rougher = 0.3164 * number**-0.25 * tube * head * flow / slow
        rougher = np.log(np.where((tube > 0) & (number > LAMINAR), rougher, 1.0))
        between = np.clip(np.log(number / LAMINAR) / _SPAN, 0, 1)
    wall = slow * np.exp(between * rougher)
    steeper = np.where((between > 0) & (between < 1), rougher / _SPAN, 0.0)
    slope = wall * (1 + 0.75 * between * (tube > 0) + steeper)
    lost = passage.losses * head * flow
    return (wall + lost) * flow, slope + 2 * lost


def reynolds(passage, flow, viscosity, density):
    """Return the Reynolds number of a flow in a passage [-].

    Parameters
    ----------
    passage : Passage
        The way, as `edmkit.physics.passage` makes it.
    flow, viscosity, density : float or array, broadcast together
        Flow [m³/s], dynamic viscosity [Pa s], density [kg/m³].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    With the hydraulic diameter, at the narrowest cross-section. Laminar below about 2000.
    """
    return _speed_number(passage, _flow(flow), _viscosity(viscosity), _density(density))[()]


def pressure_drop(passage, flow, viscosity, density):
    """Return the pressure that a flow takes on its way through a passage [Pa].

    Parameters
    ----------
    passage : Passage
        The way, as `edmkit.physics.passage` makes it.
    flow, viscosity, density : float or array, broadcast together
        Flow [m³/s], dynamic viscosity [Pa s], density [kg/m³].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    Laminar to a Reynolds number of 2000, Blasius' smooth wall from 4000, between them a straight
    line over logarithms; with the passage's speed heads. Blasius is 2 % good in bores, about
    10 % in slots.

    References
    ----------
    Blasius (1913), as in any book on flow.
    """
    return _drop(passage, _flow(flow), _viscosity(viscosity), _density(density))[0][()]


def _parts(parts):
    """Return the parts of a way after checking that they are a tuple."""
    if isinstance(parts, tuple) and parts:
        return parts
    raise Refusal(
        f"way must be a tuple of passages or ways beside each other, got {parts!r}: make each "
        "with slot, bore, annulus or another of their kind."
    )


def _tree(part, leaves):
    """Return a way as nested lists over the numbers of its passages, which join ``leaves``."""
    if isinstance(part, Passage):
        leaves.append(part)
        return len(leaves) - 1
    kind, parts = ("beside", part.parts) if isinstance(part, Beside) else ("row", part)
    return kind, [_tree(one, leaves) for one in _parts(parts)]


def _line(node, start, slope):
    """Return a way's pressure as start + slope x flow, from those of its passages."""
    if isinstance(node, int):
        return start[node], slope[node]
    lines = [_line(one, start, slope) for one in node[1]]
    if node[0] == "row":
        return sum(a for a, _ in lines), sum(s for _, s in lines)
    eased = 1 / sum(1 / s for _, s in lines)
    return eased * sum(a / s for a, s in lines), eased


def _spread(node, flow, start, slope, flows):
    """Write the flow of each passage into ``flows``, from the flow of the whole."""
    if isinstance(node, int):
        flows[node] = flow
        return
    begin, rise = _line(node, start, slope)
    for one in node[1]:
        own = flow
        if node[0] == "beside":
            a, s = _line(one, start, slope)
            own = (begin + rise * flow - a) / s
        _spread(one, own, start, slope, flows)


def _whole(node, numbers, adds):
    """Return the number of a part of the way: pressures add in a ``row``, flows ``beside``."""
    if isinstance(node, int):
        return numbers[node]
    kind, nodes = node
    own = [_whole(one, numbers, adds) for one in nodes]
    return sum(own) if kind == adds else own[0]


def _inside(node):
    """Return the numbers of the passages in a part of the way."""
    return [node] if isinstance(node, int) else [i for one in node[1] for i in _inside(one)]


def _stacked(leaves, *others):
    """Return all passages as one, their numbers stacked, and what else belongs to them."""
    names = ("conductance", "area", "hydraulic_diameter", "length", "losses", "inertia")
    columns = [[getattr(leaf, name) for leaf in leaves] for name in names]
    shape = np.broadcast_shapes(*(np.shape(x) for row in (*columns, others) for x in row))
    stacks = [np.stack([np.broadcast_to(x, shape) for x in row]) for row in columns]
    return Passage("all", *stacks), [np.broadcast_to(x, shape) for x in others]


def _settled(tree, every, pressure, viscosity, density):
    """Return the flow of each passage at which the pressures fit [m³/s]."""
    # Start: each as steep as if it had all the pressure, laminar and speed heads only.
    slow, head = viscosity / every.conductance, every.losses * density / (2 * every.area**2)
    slope = (slow + np.sqrt(slow**2 + 4 * head * pressure)) / 2
    start, flows = np.zeros_like(slope), np.zeros_like(slope)
    for _ in range(_STEPS):
        begin, rise = _line(tree, start, slope)
        before = flows.copy()
        _spread(tree, (pressure - begin) / rise, start, slope, flows)
        if (np.abs(flows - before) <= _CLOSE * flows).all():
            return flows
        drop, slope = _drop(every, flows, viscosity, density)
        start = drop - slope * flows
    raise ArithmeticError("the flow did not settle")


def _warn_of_inertia(leaves, every, numbers):
    for leaf, quick in zip(leaves, numbers * every.inertia > 1, strict=True):
        if quick.any():
            text = (
                f"{leaf.name}: the fluid is so quick there that its inertia counts; the flow is "
                "good to about 30 %. Less pressure or a wider bore makes it sure."  # assumption
            )
            warnings.warn(text, RangeWarning, stacklevel=3)


def flow_through(way, pressure, viscosity, density):
    """Return what a pressure drives through a way of several parts.

    Parameters
    ----------
    way : tuple
        Each part a `Passage` or a `Beside`, in the order the fluid meets them.
    pressure, viscosity, density : float or array, broadcast together
        Pressure or suction over the whole way [Pa], dynamic viscosity [Pa s], density [kg/m³].

    Returns
    -------
    Flow
        Rate [m³/s], with the pressure [Pa] and the Reynolds number of each part.

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    As `pressure_drop` part by part: each pays its own sharp entry and exit, so that a short wide
    way comes out too tight rather than too open. Gas from the sparks and debris are left out.
    A `RangeWarning` says where the gap in front leaves the laminar form.
    """
    knob = "20 kPa is 20e3 Pa; lift only has no pressure"
    push = require("pressure", pressure, 1e-3, 1000, "kPa", kPa, knob)
    thick, heavy = _viscosity(viscosity), _density(density)
    leaves = []
    tree = _tree(_parts(way), leaves)
    every, (push, thick, heavy) = _stacked(leaves, push, thick, heavy)
    flows = _settled(tree, every, push, thick, heavy)
    drops = _drop(every, flows, thick, heavy)[0]
    numbers = _speed_number(every, flows, thick, heavy)
    _warn_of_inertia(leaves, every, numbers)
    return Flow(
        _whole(tree, flows, "beside")[()],
        tuple(part.name for part in way),
        tuple(_whole(node, drops, "row")[()] for node in tree[1]),
        tuple(numbers[_inside(node)].max(0)[()] for node in tree[1]),
    )
