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
MOLTEN = 1 - 1e-12  # theta from which a cell counts as melting; 1 but for rounding
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
        """Cool without a source, and yield the steps left: by steps while it melts, then leaps."""
        while steps > 0 and self.latent and (steps % 20 or self.enthalpy.max() > 1):
            self.conduct()
            self.remember()
            steps -= 1
            yield steps
        leaps, left = min(steps, _LEAPS), steps
        for number in range(leaps):  # solid: conduction is linear, many steps are one product
            if number < 1 or (steps % leaps and number == steps % leaps):
                length = steps // leaps + (number < steps % leaps)
                down = np.linalg.matrix_power(np.eye(self.height.size) + self.down, length)
                out = np.linalg.matrix_power(np.eye(self.area.size) + self.out, length)
            self.enthalpy = down @ self.enthalpy @ out
            self.remember()
            left -= length
            yield left

    def temperature(self, enthalpy):
        """Return theta of an enthalpy."""
        return enthalpy - np.clip(enthalpy - 1, 0, self.latent)

    def liquid(self, enthalpy):
        """Return the share of each cell that is molten at an enthalpy."""
        if self.latent:
            return np.clip((enthalpy - 1) / self.latent, 0, 1)
        return 1.0 * (enthalpy >= 1)

    def reach(self, theta, level):
        """Return how far out at the surface and how deep below its middle a theta is reached."""
        first, second = (_first_below(theta[:, row], self.ring, level) for row in (0, 1))
        # from the middles of the two top rows of cells up to the surface
        radius = np.where(second > 0, 1.5 * first - 0.5 * second, first)
        return radius, _first_below(theta[:, :, 0], self.middle, level)

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
    _check_levels(isotherms)
    run = Run(grid, fourier, flux_numbers, latent, boiling, growth, cooling)
    for _ in run.steps():
        pass
    return run.pool(isotherms)


def _check_levels(isotherms):
    for level in isotherms:
        require("isotherms", level, 1e-3, 50, knob="1 is the melting point")


class Run:
    """A solve under way, for those who look on: parameters as for `solve`.

    ``block`` has the enthalpies, ``fluxes`` the flux numbers, ``growth`` the source's exponent,
    ``after`` the pulses it cools for.
    """

    def __init__(self, grid, fourier, flux_numbers, latent, boiling, growth, cooling):
        self.fluxes = np.atleast_1d(
            require("flux_numbers", flux_numbers, 0, 1e4, knob="6 is usual")
        )
        hot = float(boiling) if boiling == np.inf else require("boiling", boiling, 1.01, 50)
        stored = float(require("latent", latent, 0, 10, knob="0.3 is usual on steel"))
        pulse = _fourier(fourier)
        self.growth = require("growth", growth, 0, 2, knob="0.44 is usual, 0: it stands")
        after = float(require("cooling", cooling, 0, 20, knob="2 pulses"))
        self.grid, self.boiling = grid, hot
        self.block = _Block(grid, pulse, self.fluxes.size, stored)
        self.after, self._cooling = after, round(self.block.steps * after)
        self._given = self._vapour = np.zeros((self.fluxes.size, self.block.area.size))

    def steps(self):
        """Heat and cool the block, and yield the time after each step or leap [pulses]."""
        pulse = self.block.steps
        for number in range(pulse):
            self._burn(number)
            yield (number + 1) / pulse
        for left in self.block.cool(self._cooling):
            yield 1 + (self._cooling - left) / pulse

    def _burn(self, number):
        """Heat the block for one step; what a boiling surface cannot bear leaves as vapour."""
        block = self.block
        size = ((number + 0.5) / block.steps) ** (2 * self.growth)
        ring = -np.diff(np.exp(-GAUSS * self.grid.r**2 / size)) / 2
        offered = self.fluxes[:, None] * (ring * block.step / (block.area * block.height[0]))
        block.conduct()
        # from a surface at the boiling point no more than this flows down half a cell
        bears = (self.boiling - block.theta[:, 0]) * (2 * block.step / block.height[0] ** 2)
        taken = np.minimum(offered, bears) if np.isfinite(self.boiling) else offered
        block.enthalpy[:, 0] += taken
        self._given, self._vapour = self._given + offered, self._vapour + (offered - taken)
        block.remember()

    @property
    def energies(self):
        """Energy given so far, stored now and gone as vapour, per flux number."""
        block = self.block
        whole = 2 * np.pi * block.height[0] * block.area
        return self._given @ whole, block.total(block.enthalpy), self._vapour @ whole

    def pool(self, isotherms=()):
        """Return the `Pool` so far."""
        block = self.block
        peak = block.temperature(block.highest)
        far = np.maximum(peak[:, -1, 0], peak[:, 0, -1])
        if isotherms and far.max() >= min(isotherms):
            wrong = "isotherms must lie inside the grid, got one beyond it"
            raise Refusal(f"{wrong}: give a wider grid.")
        radii, depths = zip(*(block.reach(peak, v) for v in (MOLTEN, *isotherms)), strict=True)
        rows = (np.reshape(lines[1:], (-1, self.fluxes.size)) for lines in (radii, depths))
        volume = block.total(block.liquid(block.highest))
        return Pool(radii[0], depths[0], volume, *rows, *self.energies)


def _first_below(rows, places, level):
    """Return where each row first falls through a level, between two cells; 0: nowhere above."""
    below = np.argmax(rows < level, axis=1)
    before = np.maximum(below - 1, 0)
    pick = np.arange(len(rows))
    above, under = rows[pick, before], rows[pick, below]
    steep = np.where(below > 0, above - under, 1.0)
    share = np.where(below > 0, (above - level) / steep, 0.0)
    return np.where(below > 0, places[before] + share * (places[below] - places[before]), 0.0)
