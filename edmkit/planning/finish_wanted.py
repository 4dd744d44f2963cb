"""Which sparks leave a finish that is wanted: at each current one on-time, and its energy."""

import warnings
from dataclasses import dataclass
from functools import cached_property
from math import ceil, floor, log10

import numpy as np

from edmkit.burn import predict
from edmkit.checks import RangeWarning, Refusal
from edmkit.finder.bars import REASONS, one_number
from edmkit.finder.front import non_dominated
from edmkit.finder.grid import LIFT, USUAL_V, dials, nearest
from edmkit.physics.crater import ON_TIMES
from edmkit.settings import Settings
from edmkit.units import us
from edmkit.words import three

_AMPS = (0.5, 1, 2, 4, 8, 16, 32, 60)  # without a machine; the range of the crater tables
_STEPS = 97  # on-times without a machine: Ra between two of them is a straight line to 0.01 %
_LAW_UM = (0.4, 15.0)  # where the roughness law has anchors, as the cautions say
_NEVER_DIALLED = ("unknown dial", "outside the craters", "no useful cutting",
                  "smaller than a spark")  # fmt: skip
_BY_OFF_TIME = ("duty", "current", "arcs")  # what an off-time can put right


@dataclass(frozen=True)
class Sparks:
    """Roughness against on-time at each current of a set-up, and which off-time goes with it.

    ``like`` gives open voltage, gap and lift; ``amps`` the currents, None for all there are.
    """

    setup: object
    shop: object = None
    like: Settings | None = None
    amps: tuple | None = None

    def __post_init__(self):
        if np.ndim(self.setup.engaged_area_mm2):
            raise Refusal("engaged_area_mm2 must be one area to find sparks for, got several.")

    @cached_property
    def offered(self):
        """What may be dialled: name -> values."""
        found = dials(self.setup)
        if self.setup.machine is None:
            low, high = np.array(ON_TIMES) / us
            found |= {"peak_current_A": np.array(_AMPS, float),
                      "on_time_us": np.geomspace(low, high, _STEPS)}  # fmt: skip
        return found if self.amps is None else found | {"peak_current_A": np.array(self.amps)}

    def burn(self, amps, on_us, off_us):
        """Return the burn at a current, on-time and off-time; arrays broadcast."""
        like = self.like
        wish = USUAL_V if like is None else float(like.open_voltage_V)
        volts = wish if self.setup.machine is None else nearest(
            self.offered["open_voltage_V"], wish)  # fmt: skip
        kept = {n: getattr(like, n, None) for n in ("gap_front_um", "servo_voltage_V", *LIFT)}
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", RangeWarning)  # such sparks are left out
            return predict(self.setup, Settings(amps, on_us, off_us, volts, **kept), self.shop)

    @cached_property
    def _mesh(self):
        """Every current with every on-time, the off-time left at one that is offered."""
        amps, on = self.offered["peak_current_A"], self.offered["on_time_us"]
        return self.burn(amps[:, None], on[None], float(self.offered["off_time_us"][-1]))

    @cached_property
    def _dialled(self):
        """Which sparks of the mesh a person would dial; unknown positions where nothing else is."""
        for names in (_NEVER_DIALLED, _NEVER_DIALLED[1:]):
            yes = excess(self._mesh, names) <= 1e-9
            if yes.any():
                break
        return yes

    def roughness_um(self, chance=0.5):
        """Return the Ra that each spark keeps with a chance, not-a-number: not to be dialled [µm].

        Parameters
        ----------
        chance : float
            0.5: the likely roughness [-].
        """
        from scipy.special import ndtri

        ra = self._mesh.roughness_Ra_um
        return np.where(self._dialled, ra.likely * np.exp(ndtri(chance) * ra.spread), np.nan)

    def every(self):
        """Return the burn of every current, on-time and off-time, and which may be dialled.

        Two masks: those that nothing forbids, and those that only off-time, current or arcs do.
        """
        amps, on, off = (self.offered[n] for n in ("peak_current_A", "on_time_us", "off_time_us"))
        burn = self.burn(amps[:, None, None], on[:, None], off)
        dialled = np.broadcast_to(self._dialled[..., None], burn.shape)
        return burn, dialled & (excess(burn, _BY_OFF_TIME) <= 1e-9), dialled

    def on_times_us(self, Ra_um, chance=0.5):
        """Return the on-time at each current that leaves a roughness, not-a-number for none.

        Parameters
        ----------
        Ra_um : float
            Roughness that is kept with the chance [µm].
        chance : float
            0.5: the likely roughness [-].

        Notes
        -----
        On a machine the longest of its on-times that keeps it. A current whose longest pulse is
        finer still has none: it does not leave that finish.
        """
        ra, on = self.roughness_um(chance), self.offered["on_time_us"]
        with np.errstate(invalid="ignore"):
            met = (ra[:, :-1] <= Ra_um) & (ra[:, 1:] > Ra_um)
        last = met.shape[1] - 1 - np.argmax(met[:, ::-1], axis=1)
        rows = np.arange(len(met))
        low, high = np.log(ra[rows, last]), np.log(ra[rows, last + 1])
        along = (np.log(Ra_um) - low) / (high - low) if self.setup.machine is None else 0.0
        found = on[last] * (on[last + 1] / on[last]) ** along
        return np.where(met.any(axis=1), found, np.nan)

    def with_off_times(self, amps, on_us):
        """Return the fastest off-time of each spark, its burn, and whether nothing forbids it.

        Where duty factor, current and arcs forbid every off-time, the one that is least over.
        """
        offs = self.offered["off_time_us"]
        burn = self.burn(amps[:, None], on_us[:, None], offs[None])
        over = np.broadcast_to(excess(burn, _BY_OFF_TIME), burn.shape)
        rate = np.where(over <= 1e-9, burn.removal_rate_mm3_per_min.likely, 0.0)
        fits = rate.any(axis=1)
        best = np.where(fits, np.argmax(rate, axis=1), np.argmin(over, axis=1))
        return offs[best], self.burn(amps, on_us, offs[best]), fits


def excess(burn, names):
    """Return by how much settings are over the worst of some reasons of the finder, 0 for none.

    Parameters
    ----------
    burn : Burn
        At many settings.
    names : sequence of str
        Some of the finder's ``NAMES``.
    """
    found = [r.excess(burn) for r in REASONS if r.name in names]
    return np.max(np.broadcast_arrays(np.zeros(burn.shape), *found), axis=0)


@dataclass(frozen=True)
class FinishSpark:
    """A spark that leaves a finish: its settings and its `Burn`.

    ``sure_on_time_us`` and ``sure_energy_mJ`` are of the largest spark of this current that keeps
    the finish with the chance asked for, None where none does.
    """

    settings: Settings
    burn: object
    sure_on_time_us: float | None
    sure_energy_mJ: float | None

    @property
    def energy_mJ(self):
        """Energy of one spark [mJ]."""
        return float(self.burn.pulse_energy_mJ.likely)


@dataclass(frozen=True)
class FinishWanted:
    """The sparks that leave a finish, by rising current; ``chance`` is that of the sure ones."""

    Ra_um: float
    chance: float
    sparks: tuple

    @property
    def fastest(self):
        """The spark that removes most."""
        return max(self.sparks, key=lambda s: float(s.burn.removal_rate_mm3_per_min.likely))

    @property
    def worth_dialling(self):
        """The sparks that no other beats in removal and in wear, by rising current."""
        rate = np.array([float(s.burn.removal_rate_mm3_per_min.likely) for s in self.sparks])
        wear = np.array([float(s.burn.relative_wear_percent.likely) for s in self.sparks])
        wear = np.nan_to_num(wear, nan=0.0)
        return tuple(s for s, yes in zip(self.sparks, non_dominated(1 / rate, wear), strict=True)
                     if yes)  # fmt: skip

    @property
    def least_wear(self):
        """The spark that wears the electrode least, None without wear figures."""
        known = [s for s in self.sparks if not np.isnan(s.burn.relative_wear_percent.likely)]
        return min(known, key=lambda s: float(s.burn.relative_wear_percent.likely), default=None)


def energy_for(setup, Ra_um, shop=None, current_A=None, *, chance=0.9, like=None):
    """Return which sparks leave a finish, and their energy.

    Parameters
    ----------
    setup : Setup
        With its machine: only its positions are taken, the nearest that is not rougher.
    Ra_um : float
        Roughness wanted [µm].
    shop : Shop or None
        What the shop has learned.
    current_A : float or None
        One current only [A]; None: the machine's, or a series.
    chance : float
        How sure the sure sparks are [-].
    like : Settings or None
        Whose open voltage, gap and lift timers are kept.

    Raises
    ------
    Refusal
        If no spark leaves that roughness; the finest and the coarsest are named.

    Warns
    -----
    RangeWarning
        Below 0.4 µm and above 15 µm, where the roughness law has no anchors.

    Notes
    -----
    One finish has many energies: a high current for a short time leaves it with more energy, and
    faster, than a low one for long, and wears more. Sparks that duty factor, current or arcs
    forbid stand in the list only where no other is left.
    """
    wanted = one_number("Ra_um", Ra_um, 0.05, 50, "µm", "3.2 is a common figure")
    sure = one_number("chance", chance, 0.01, 0.999, knob="90 % is 0.9")
    if current_A is not None:
        one_number("current_A", current_A, 0.05, 500, "A", "give one current")
    sparks = Sparks(setup, shop, like, None if current_A is None else (float(current_A),))
    on = sparks.on_times_us(wanted)
    left = ~np.isnan(on)
    if not left.any():
        raise Refusal(none_leaves(sparks.roughness_um(), wanted))
    warn_outside_law(wanted)
    amps, on = sparks.offered["peak_current_A"][left], on[left]
    off, _, fits = sparks.with_off_times(amps, on)
    strict = sparks.on_times_us(wanted, sure)[left]
    keep = fits if fits.any() else np.ones_like(fits)
    rows = zip(amps[keep], on[keep], off[keep], strict[keep], strict=True)
    return FinishWanted(wanted, sure, tuple(_spark(sparks, *map(float, row)) for row in rows))


def warn_outside_law(Ra_um):
    """Warn where a roughness lies outside what the law has anchors for.

    Parameters
    ----------
    Ra_um : float
        Roughness wanted [µm].
    """
    low, high = _LAW_UM
    if not low <= Ra_um <= high:
        warnings.warn(
            f"a roughness of {Ra_um:g} µm lies outside the {low:g} to {high:g} µm that the law "
            "was fitted to: hold the first burn against a comparator.",
            RangeWarning,
            stacklevel=3,
        )


def _spark(sparks, amps, on_us, off_us, sure_us):
    burn = sparks.burn(amps, on_us, off_us)
    sure = (None, None)
    if not np.isnan(sure_us):
        sure = (sure_us, float(sparks.burn(amps, sure_us, off_us).pulse_energy_mJ.likely))
    return FinishSpark(burn.settings, burn, *sure)


def none_leaves(roughness_um, wanted):
    """Return in a sentence that no spark leaves a finish, and which finishes there are.

    Parameters
    ----------
    roughness_um : array
        What the sparks leave, not-a-number where one is not to be dialled [µm].
    wanted : float
        Roughness wanted [µm].
    """
    if np.isnan(roughness_um).all():
        return ("peak_current_A must be a current that cuts usefully on this end, got none that "
                "does: give a larger area or another current.")  # fmt: skip
    finest, coarsest = (
        _rounded(float(of(roughness_um)), way)
        for of, way in ((np.nanmin, ceil), (np.nanmax, floor))
    )
    knob = ("stone or polish what is finer" if wanted < finest else "a rougher wall needs a "
            "larger spark than these")  # fmt: skip
    return f"Ra_um must be {three(finest)} to {three(coarsest)} µm here, got {wanted:g} µm: {knob}."


def _rounded(value, way):
    """Return a number with three digits, rounded inwards so that it may be asked for."""
    step = 10.0 ** (floor(log10(value)) - 2)
    return way(value / step) * step
