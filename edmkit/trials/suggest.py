"""The trial that teaches most for the minutes it costs."""

from dataclasses import dataclass

import numpy as np

from edmkit.burn import predict
from edmkit.checks import Refusal, one_of, require
from edmkit.estimate import BAND, Estimate
from edmkit.finder.grid import DIALS, USUAL_V, dials, labels, mesh, nearest
from edmkit.knowledge import QUANTITIES, logs
from edmkit.settings import Settings, refuse_circuit
from edmkit.shop import Shop, operating_point
from edmkit.words import three, two

_LEFT_OUT = ("over_current_limit", "no_useful_cutting", "smaller_than_one_spark", "extrapolated")
_DUTY = (0.3, 0.8)  # a pause long enough to clear, not so long as to idle; from memory
_AS_GOOD = 1.02  # a band wider by less than this is as good: then the quicker trial is taken
_WORTH = 1.05  # a trial that narrows the band by less is hardly worth it; assumption
_WORDS = {
    "removal_rate": "the minutes",
    "roughness_Ra": "the finish",
    "relative_wear": "the wear",
    "gap_side": "the side gap",
    "gap_front": "the gap in front",
    "recast": "the recast layer",
}


@dataclass(frozen=True)
class Suggestion:
    """The next trial, what it costs and what it brings.

    ``before`` and ``after`` are the factor up or down that nine in ten lie within, for the
    question asked.
    """

    setup: object
    settings: Settings
    labels: dict
    minutes: Estimate
    before: float
    after: float
    why: str


def suggest_trial(
    setup, shop=None, question="removal_rate", *, settings=None, max_minutes=30.0, depth_mm=1.0
):
    """Return the trial that teaches most for a question.

    Parameters
    ----------
    setup : Setup
        Machine, work, electrode and the area of the end; its machine's positions are tried.
    shop : Shop or None
        What is known so far.
    question : str
        One of the quantities a shop can learn.
    settings : Settings or None
        The setting the question is about; None asks about every setting of the machine alike.
    max_minutes : float
        The longest trial allowed, by its likely minutes [min].
    depth_mm : float
        How deep the trial goes [mm].

    Raises
    ------
    Refusal
        If no setting does it in these minutes, or it is asked about a relaxation circuit.

    Notes
    -----
    Expected variance after one more burn, exact for the fit without slips. Settings that do not
    cut, or ask too much of the end, are left out.
    """
    one_of("question", question, QUANTITIES)
    refuse_circuit(settings, "a trial at the switches")
    shop = Shop() if shop is None else shop
    limit = float(require("max_minutes", max_minutes, 0.1, 1e5, "min", knob="allow more minutes"))
    depth = float(require("depth_mm", depth_mm, 0.01, 100, "mm", knob="give a depth"))
    every = _every_setting(setup, settings)
    burn = predict(setup, every, shop)
    minutes = burn.minutes(np.asarray(setup.engaged_area_mm2) * depth)
    cuts = ~np.logical_or.reduce([burn.flags[name] for name in _LEFT_OUT if name in burn.flags])
    duty = burn.duty_factor_percent.likely / 100
    cuts &= (duty >= _DUTY[0]) & (duty <= _DUTY[1])
    if not cuts.any():
        raise Refusal("no setting of this machine cuts with this end: give a larger area.")
    allowed = cuts & (minutes.likely <= limit)
    if not allowed.any():
        quickest = three(np.nanmin(np.where(cuts, minutes.likely, np.nan)))
        raise Refusal(
            f"max_minutes must be at least {quickest} for a trial {depth:g} mm deep with this "
            f"end, got {limit:g}: allow more, or make the trial shallower."
        )
    known = shop.over_settings(question, setup)
    trials = columns_of(burn)
    asked = (
        trials[cuts] if settings is None else columns_of(predict(setup, settings, shop))[None, :]
    )
    after = left_after(known, trials[allowed], asked)
    good = after <= after.min() * _AS_GOOD
    place = np.flatnonzero(good)[np.argmin(minutes.likely[allowed][good])]
    spot = tuple(np.argwhere(allowed)[place])
    return _suggestion(setup, shop, question, known, every, spot, depth, asked, after[place])


def _every_setting(setup, settings):
    """Return the machine's settings as an open mesh, at the voltage asked about or the usual."""
    if settings is None:
        volts = nearest(dials(setup)["open_voltage_V"], USUAL_V)
    else:
        volts = float(settings.open_voltage_V)
    return mesh(setup, hold={"open_voltage_V": volts})


def columns_of(burn):
    """Return the columns of level and slopes at each setting: (..., 4).

    Parameters
    ----------
    burn : Burn
        One setting, or many.
    """
    found = np.broadcast_arrays(1.0, *logs(operating_point(burn.point)))
    return np.stack([np.broadcast_to(column, burn.shape) for column in found], axis=-1)


def left_after(known, trials, asked):
    """Return the root mean square spread that each trial leaves at what is asked (n,).

    Parameters
    ----------
    known : Knowledge
        Level and slopes before.
    trials, asked : array (n, 4), (m, 4)
        From `columns_of`.
    """
    covariance = np.array(known.covariance)
    told = np.einsum("ni,ij,nj->n", trials, covariance, trials) + known.noise**2
    second = asked.T @ asked / len(asked)
    towards = trials @ covariance
    gain = np.einsum("ni,ij,nj->n", towards, second, towards) / told
    return np.sqrt(np.trace(covariance @ second) - gain + known.noise**2)


def _suggestion(setup, shop, question, known, every, spot, depth, asked, after):
    """Return the suggestion for one place of the mesh."""
    values = {n: float(getattr(every, n).ravel()[i]) for n, i in zip(DIALS, spot, strict=True)}
    chosen = Settings(**values)
    burn = predict(setup, chosen, shop)
    covariance = np.array(known.covariance)
    before = np.sqrt(np.trace(covariance @ (asked.T @ asked / len(asked))) + known.noise**2)
    factors = tuple(float(np.exp(BAND * v)) for v in (before, after))
    minutes = burn.minutes(float(setup.engaged_area_mm2) * depth)
    why = _why(question, known, columns_of(burn), factors)
    return Suggestion(setup, chosen, labels(setup, chosen), minutes, *factors, why)


def _why(question, known, trial, factors):
    """Return in one sentence what the trial tells most of."""
    covariance = np.array(known.covariance)
    towards = covariance @ trial
    told = towards**2 / (trial @ towards + known.noise**2) / np.diag(covariance)
    names = ("the level of this machine", "how it follows the current",
             "how it follows the on-time", "how it follows the area")  # fmt: skip
    most = names[int(np.argmax(told))]
    if factors[0] < _WORTH * factors[1]:
        return (
            f"No single trial tells much more of {_WORDS[question]} now: what is left is mostly "
            "how one burn differs from the next."
        )
    return (
        f"Nothing else that fits the minutes tells more of {_WORDS[question]}: it shows "
        f"{most}, and brings the band from a factor of {two(factors[0])} to {two(factors[1])}."
    )
