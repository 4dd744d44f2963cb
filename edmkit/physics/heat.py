"""One spark as a heat problem: a growing Gaussian source melts and boils the top of a half-space.

Lengths are in radii R of the source at the end of the pulse, temperatures in theta = (T - T_0) /
(T_m - T_0), enthalpies in density x heat capacity x (T_m - T_0), times in Fourier numbers
alpha t / R². So a crater depends on four numbers only: the Fourier number of the pulse, the flux
number P / (pi R k (T_m - T_0)), the latent heat and the boiling point.
"""

from dataclasses import dataclass

import numpy as np

from edmkit.checks import Refusal, require

GAUSS = 4.5  # exponent of the flux, derived: with it the whole plane receives the power P
GROWTH = 0.44  # R ~ t^0.44, Ikai and Hashiguchi (1995), from memory
COOLING = 2.0  # pulses to follow the cooling for: the softened depth settles in two
CELLS = 24  # across the depth of melting; 0.7 % in volume of twice as many, median
_DEEP, _WIDE, _STRETCH = 1.3, 1.4, 1.15  # fine zone in diffusion lengths and radii; growth beyond
_DEEPEST = 1.56  # of the fine zone, in radii: a long pulse melts no deeper
_FAR = 3.5  # diffusion lengths from the fine zone to the far side, 0.1 % of the heat gets there
_LEAPS = 50  # steps in which a solid block cools


@dataclass(frozen=True)
class Grid:
    """Faces of the cells downwards and outwards, both from 0, in radii of the source."""

    z: np.ndarray
    r: np.ndarray


@dataclass(frozen=True)
class Pool:
    """What one spark melts, per flux number: lengths [R], energies [R³ of the enthalpy unit].

    ``isotherm_radius`` and ``isotherm_depth`` have a row per isotherm asked for.
    """

    radius: np.ndarray
    depth: np.ndarray
    volume: np.ndarray
    isotherm_radius: np.ndarray
    isotherm_depth: np.ndarray
    energy_in: np.ndarray
    energy_stored: np.ndarray
    energy_vapour: np.ndarray


def _faces(fine, cell, far):
    """Return faces evenly spaced through the fine zone, then ever wider."""
    faces = np.linspace(0, fine, max(1, round(fine / cell)) + 1)
    wider = (faces[1] - faces[0]) * _STRETCH ** np.arange(1, 200)
    count = int(np.searchsorted(fine + np.cumsum(wider), far)) + 1
    return np.concatenate([faces, fine + np.cumsum(wider[:count])])


def grid(fourier, cells=CELLS):
    """Return cells that are fine where a spark melts and wide where it only warms.

    Parameters
    ----------
    fourier : float
        Fourier number of the pulse [-].
    cells : int
        Cells across the depth of the fine zone [-]; twice as many halve every cell.

    Returns
    -------
    Grid
        Faces [radii of the source].

    Raises
    ------
    Refusal
        If a number is outside its range.

    Notes
    -----
    The fine zone is 1.4 R wide and 1.3 diffusion lengths deep, at most 1.56 R.
    """
    diffusion = np.sqrt(_fourier(fourier))
    count = require("cells", cells, 4, 400, knob="24 is usual")
    deep, far = min(_DEEP * diffusion, _DEEPEST), _FAR * diffusion * np.sqrt(1 + COOLING)
    return Grid(
        _faces(deep, deep / count, deep + far), _faces(_WIDE, 1 / (1.2 * count), _WIDE + far)
    )


def _fourier(fourier):
    number = require("fourier", fourier, 1e-5, 100, knob="0.006 to 1.2 are usual on steel")
    if number.ndim:
        raise Refusal(f"fourier must be one number, got {number.size}: solve one at a time.")
    return float(number)


class _Block:
    """Enthalpy of every cell and its highest so far: (flux number, z, r), stepped in place."""

    def __init__(self, grid, fourier, count, latent):
        self.latent = latent
        self.height, self.area = np.diff(grid.z), np.diff(grid.r**2) / 2  # area over 2 pi
        middle = (grid.z[1:] + grid.z[:-1]) / 2
        ring = (grid.r[1:] + grid.r[:-1]) / 2
        self.middle, self.ring = middle, ring
        down = _exchange(1 / np.diff(middle), self.height)
        out = _exchange(grid.r[1:-1] / np.diff(ring), self.area).T
        # stable, and no cell passes its neighbours; the surface leads over half a cell
        surface = 2 / self.height[0] ** 2 - down[0, 0]
        rate = max(-down.min(), surface) - out.min()
        self.steps = int(np.ceil(fourier * rate / 0.95))
        self.step = fourier / self.steps
        self.down, self.out = down * self.step, out * self.step
        self.enthalpy = np.zeros((count, self.height.size, self.area.size))
        self.highest = np.zeros_like(self.enthalpy)
        self.theta, self._flow = np.zeros_like(self.enthalpy), np.zeros_like(self.enthalpy)

    def conduct(self):
        """Let one step of heat flow between the cells."""
        h, flow, theta = self.enthalpy, self._flow, self.theta
        np.subtract(h, 1, out=flow)
        np.subtract(h, np.clip(flow, 0, self.latent, out=flow), out=theta)
        h += np.matmul(self.down, theta, out=flow)
        h += np.matmul(theta, self.out, out=flow)

    def remember(self):
        """Keep the highest enthalpy that each cell has had."""
        np.maximum(self.highest, self.enthalpy, out=self.highest)

    def cool(self, steps):
        """Let the block cool without a source: step by step while it melts, then in leaps."""
        while steps > 0 and self.latent and (steps % 20 or self.enthalpy.max() > 1):
            self.conduct()
            self.remember()
            steps -= 1
        leaps = min(steps, _LEAPS)
        for number in range(leaps):  # solid: conduction is linear, many steps are one product
            if number < 1 or (steps % leaps and number == steps % leaps):
                length = steps // leaps + (number < steps % leaps)
                down = np.linalg.matrix_power(np.eye(self.height.size) + self.down, length)
                out = np.linalg.matrix_power(np.eye(self.area.size) + self.out, length)
            self.enthalpy = down @ self.enthalpy @ out
            self.remember()

    def total(self, field):
        """Return the integral of a field over the block, per flux number."""
        return 2 * np.pi * np.einsum("nzr,z,r->n", field, self.height, self.area)


def _exchange(conductance, size):
    """Return the matrix that turns temperatures in a row into rates of change."""
    matrix = np.zeros((size.size, size.size))
    for left, c in enumerate(conductance):
        right = left + 1
        matrix[left, left] -= c / size[left]
        matrix[left, right] += c / size[left]
        matrix[right, right] -= c / size[right]
        matrix[right, left] += c / size[right]
    return matrix


def solve(grid, fourier, flux_numbers, latent, boiling, isotherms=(), growth=GROWTH,
          cooling=COOLING):  # fmt: skip
    """Return what sparks of one Fourier number and several flux numbers melt.

    Parameters
    ----------
    grid : Grid
        From `grid`, or any other.
    fourier, flux_numbers, latent, boiling : float, array, float, float
        alpha t_on / R²; P / (pi R k (T_m - T_0)) of each spark; heat of melting over heat
        capacity x (T_m - T_0); (T_b - T_0)/(T_m - T_0), or inf for no limit [-].
    isotherms, growth, cooling : sequence, float, float
        Peak temperatures to follow, as theta; the source's exponent; pulses to follow after [-].

    Returns
    -------
    Pool

    Raises
    ------
    Refusal
        If a number is outside its range.

    Notes
    -----
    Explicit finite volumes, enthalpy method; what a boiling surface cannot take in leaves as
    vapour. No melt flow, no mushy range. Joshi and Pande (2010), J. Manuf. Process. 12, 45; memory.
    """
    fluxes = np.atleast_1d(require("flux_numbers", flux_numbers, 0, 1e4, knob="6 is usual"))
    hot = float(boiling) if boiling == np.inf else require("boiling", boiling, 1.01, 50)
    stored = float(require("latent", latent, 0, 10, knob="0.3 is usual on steel"))
    _check_levels(isotherms)
    pulse = _fourier(fourier)
    power = require("growth", growth, 0, 2, knob="0.44 is usual, 0 for a source that stands")
    after = require("cooling", cooling, 0, 20, knob="2 pulses")
    block = _Block(grid, pulse, fluxes.size, stored)
    given, vapour = _burn(block, grid, fluxes, hot, power)
    block.cool(round(block.steps * float(after)))
    return _pool(block, isotherms, given, vapour)


def _check_levels(isotherms):
    for level in isotherms:
        require("isotherms", level, 1e-3, 50, knob="1 is the melting point")


def _burn(block, grid, fluxes, boiling, growth):
    """Heat the block through the pulse; return energy given and energy that left as vapour."""
    given = vapour = np.zeros((fluxes.size, block.area.size))
    for number in range(block.steps):
        size = ((number + 0.5) / block.steps) ** (2 * growth)
        ring = -np.diff(np.exp(-GAUSS * grid.r**2 / size)) / 2
        offered = fluxes[:, None] * (ring * block.step / (block.area * block.height[0]))
        block.conduct()
        # from a surface at the boiling point no more than this flows down half a cell
        bears = (boiling - block.theta[:, 0]) * (2 * block.step / block.height[0] ** 2)
        taken = np.minimum(offered, bears) if np.isfinite(boiling) else offered
        block.enthalpy[:, 0] += taken
        given, vapour = given + offered, vapour + (offered - taken)
        block.remember()
    whole = 2 * np.pi * block.height[0] * block.area
    return given @ whole, vapour @ whole


def _first_below(rows, places, level):
    """Return where each row first falls through a level, between two cells; 0: nowhere above."""
    below = np.argmax(rows < level, axis=1)
    before = np.maximum(below - 1, 0)
    pick = np.arange(len(rows))
    above, under = rows[pick, before], rows[pick, below]
    steep = np.where(below > 0, above - under, 1.0)
    share = np.where(below > 0, (above - level) / steep, 0.0)
    return np.where(below > 0, places[before] + share * (places[below] - places[before]), 0.0)


def _pool(block, isotherms, given, vapour):
    peak = block.highest - np.clip(block.highest - 1, 0, block.latent)  # theta
    liquid = (
        np.clip((block.highest - 1) / block.latent, 0, 1) if block.latent else 1.0 * (peak >= 1)
    )
    far = np.maximum(peak[:, -1, 0], peak[:, 0, -1])
    if isotherms and far.max() >= min(isotherms):
        raise Refusal("isotherms must lie inside the grid, got one beyond it: give a wider grid.")
    depths, radii = [], []
    for level in (1 - 1e-12, *isotherms):
        depths.append(_first_below(peak[:, :, 0], block.middle, level))
        first, second = (_first_below(peak[:, row], block.ring, level) for row in (0, 1))
        # from the middles of the two top rows of cells up to the surface
        radii.append(np.where(second > 0, 1.5 * first - 0.5 * second, first))
    return Pool(
        radii[0], depths[0], block.total(liquid),
        *(np.reshape(lines[1:], (-1, given.size)) for lines in (radii, depths)),
        given, block.total(block.enthalpy), vapour,
    )  # fmt: skip
