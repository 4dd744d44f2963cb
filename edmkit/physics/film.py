"""One spark as a film: what `heat` solves, looked at frame by frame, scaled as there."""

from dataclasses import dataclass

import numpy as np

from edmkit.checks import Refusal, require
from edmkit.physics import heat
from edmkit.physics.heat import COOLING, GROWTH, MOLTEN

FRAMES = 48
_BURNING = 2 / 3  # share of the frames that the pulse gets; the cooling has the rest
_SLICE = 60  # steps of the solver between two looks at the clock, 1 to 3 ms


@dataclass(frozen=True)
class Film:
    """Frames of one spark: times [Fourier numbers], lengths [R], energies [R³ enthalpy units].

    ``theta`` [-] is frame x depth x radius at cell middles ``z`` and ``r``. ``melt_radius``,
    ``melt_depth`` and ``melt_volume`` are liquid at that moment, ``melted_`` so far; the isotherms
    (frame x isotherm) are how far each got so far. ``pool`` is what `heat.solve` gives.
    """

    times: np.ndarray
    z: np.ndarray
    r: np.ndarray
    theta: np.ndarray
    source_radius: np.ndarray
    melt_radius: np.ndarray
    melt_depth: np.ndarray
    melt_volume: np.ndarray
    melted_radius: np.ndarray
    melted_depth: np.ndarray
    isotherm_radius: np.ndarray
    isotherm_depth: np.ndarray
    energy_in: np.ndarray
    energy_stored: np.ndarray
    energy_vapour: np.ndarray
    pool: heat.Pool


def filming(grid, fourier, flux_number, latent, boiling, isotherms=(), frames=FRAMES,
            growth=GROWTH, cooling=COOLING):  # fmt: skip
    """Return a run of one spark that yields the share done [-] time after time, last the `Film`.

    Parameters
    ----------
    grid, fourier, flux_number, latent, boiling, isotherms : Grid, float and as said
        As for `heat.solve`, with one flux number [-].
    frames : int
        Pictures, of which the pulse gets two in three, evenly spaced [-].
    growth, cooling : float
        As for `heat.solve` [-].

    Raises
    ------
    Refusal
        If a number is outside its range, before the first step.

    Notes
    -----
    It looks on and changes nothing: each frame is the first step at or after its time. Cooling
    frames lie closer at first, while the melt freezes. `film` runs it to its end.

    References
    ----------
    As `heat.solve`.
    """
    count = int(require("frames", frames, 6, 500, knob="48 is usual"))
    flux = require("flux_number", flux_number, 0, 1e4, knob="6 is usual on steel")
    if flux.ndim:
        raise Refusal(f"flux_number must be one number, got {flux.size}: film one spark.")
    for level in isotherms:
        require("isotherms", level, 1e-3, 50, knob="1 is the melting point")
    run = heat.Run(grid, fourier, flux, latent, boiling, growth, cooling)
    burning = count if run.after == 0 else round(_BURNING * count)
    cooled = np.arange(1, count - burning + 1) / max(count - burning, 1)
    # evenly through the pulse; cooling slows down as it goes on
    wanted = [*(np.arange(1, burning + 1) / burning), *(1 + run.after * cooled**2)]
    return _filming(run, float(fourier), wanted, tuple(isotherms))


def _filming(run, fourier, wanted, isotherms):
    shots, end = [], 1 + run.after
    for number, time in enumerate(run.steps()):
        if len(shots) < len(wanted) and time >= wanted[len(shots)] - 1e-9:
            shots.append(_shot(run, time, isotherms))
            while len(shots) < len(wanted) and time >= wanted[len(shots)] - 1e-9:
                wanted.pop(len(shots))  # a leap has passed it: no picture twice
        if number % _SLICE == 0:
            yield time / end
    yield _film(run, fourier, shots, isotherms)


def _shot(run, time, isotherms):
    """Return one frame as values in the order of `Film`, the first being the time in pulses."""
    block = run.block
    theta, peak = (block.temperature(h) for h in (block.enthalpy, block.highest))
    now, so_far = block.reach(theta, MOLTEN), block.reach(peak, MOLTEN)
    reached = [block.reach(peak, level) for level in isotherms]
    return (
        time,
        theta[0].astype(np.float32),
        time**run.growth if time <= 1 else 0.0,
        *(size[0] for size in (*now, block.total(block.liquid(block.enthalpy)), *so_far)),
        [radius[0] for radius, _ in reached],
        [depth[0] for _, depth in reached],
        *(energy[0] for energy in run.energies),
    )


def _film(run, fourier, shots, isotherms):
    times, *fields = (np.array(values) for values in zip(*shots, strict=True))
    block = run.block
    return Film(times * fourier, block.middle, block.ring, *fields, run.pool(isotherms))


def film(grid, fourier, flux_number, latent, boiling, isotherms=(), frames=FRAMES,
         growth=GROWTH, cooling=COOLING):  # fmt: skip
    """Return the film of one spark.

    Parameters
    ----------
    grid, fourier, flux_number, latent, boiling, isotherms : Grid, float and as said
        As for `filming` [-].
    frames, growth, cooling : int, float, float
        As for `filming` [-].

    Returns
    -------
    Film

    Raises
    ------
    Refusal
        If a number is outside its range.

    Notes
    -----
    The run of `filming`, to its end.

    References
    ----------
    As `heat.solve`.
    """
    numbers = (grid, fourier, flux_number, latent, boiling, isotherms, frames, growth, cooling)
    *_, found = filming(*numbers)
    return found
