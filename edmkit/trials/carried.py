"""What a shop's burns in one material tell of another, and what they leave open."""

from dataclasses import dataclass

import numpy as np

from edmkit.burn import predict
from edmkit.estimate import Estimate
from edmkit.shop import Shop, operating_point

# quantity -> (answer of a Burn, what a person calls it)
ANSWERS = {
    "removal_rate": ("removal_rate_mm3_per_min", "removal rate"),
    "roughness_Ra": ("roughness_Ra_um", "roughness Ra"),
    "relative_wear": ("relative_wear_percent", "wear"),
    "gap_side": ("gap_side_um", "side gap"),
}


@dataclass(frozen=True)
class Carried:
    """One quantity in two materials at the same positions.

    ``known`` and ``new`` are what the shop expects of each, ``before`` what an untrained shop
    would of the new one; ``ratio`` new over known, the machine's common level left out.
    """

    quantity: str
    word: str
    known: Estimate
    new: Estimate
    before: Estimate
    ratio: Estimate


def carried(known_setup, new_setup, settings, shop=None):
    """Return what a shop expects of two materials at the same positions.

    Parameters
    ----------
    known_setup, new_setup : Setup
        The same machine, electrode and end; another work, and its polarity.
    settings : Settings
        One setting.
    shop : Shop or None
        What the shop has learned.

    Returns
    -------
    tuple of Carried

    Notes
    -----
    The machine's level, the electrode's and the slopes are shared; each material has a level of
    its own, and so has each material on this machine: only a burn in it tells that.
    """
    shop = Shop() if shop is None else shop
    known, new = (predict(setup, settings, shop) for setup in (known_setup, new_setup))
    plain = predict(new_setup, settings)
    found = []
    for quantity, (answer, word) in ANSWERS.items():
        one, other = getattr(known, answer), getattr(new, answer)
        points = operating_point(new.point), operating_point(known.point)
        spread = shop.drift(quantity, new_setup, points[0], known_setup, points[1])
        with np.errstate(divide="ignore", invalid="ignore"):
            likely = float(np.divide(other.likely, one.likely))
        ratio = Estimate(likely, float(spread))
        found.append(Carried(quantity, word, one, other, getattr(plain, answer), ratio))
    return tuple(found)
