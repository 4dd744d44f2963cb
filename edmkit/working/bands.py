"""What this shop's trials change, and how wide a band is and why."""

from dataclasses import replace

import numpy as np

from edmkit import burn as answers
from edmkit.estimate import BAND
from edmkit.knowledge import REFERENCE
from edmkit.shop import operating_point
from edmkit.units import mm2, us
from edmkit.working.formula import Given
from edmkit.working.sources import ASSUMED, MACHINE_FILE, TRIALS

_AXES = (("I", 1.0, "A", "current"), ("t", us, "µs", "burning time"), ("A", mm2, "mm²", "area"))


def shop_factor(sheet, burn, answer, quantity, symbol):
    """Work out by how much this shop's burns differ from what the physics alone says."""
    point, name = operating_point(burn.point), "this shop's factor"
    factor = np.exp(burn.shop.correction(quantity, burn.setup, point)[0])
    known = burn.shop.known(quantity, burn.setup)
    if not any(known.mean):
        why = "no trial of this shop has taught it yet: the physics alone"
        return sheet.step(answer, name, symbol, factor, "", why)
    own = {"m_0": Given("logarithm of the level", known.mean[0], "", TRIALS)}
    terms = ["m_0"]
    for (axis, scale, unit, words), slope, middle in zip(
        _AXES, known.mean[1:], REFERENCE, strict=True
    ):
        own[f"m_{axis}"] = Given(f"slope with the {words}", slope, "", TRIALS)
        own[f"{axis}_1"] = Given(f"{words} the slopes turn about", middle / scale, unit, ASSUMED)
        terms.append(f"m_{axis}*ln({axis}/{axis}_1)")
    return sheet.step(answer, name, f"{symbol} = exp({'+'.join(terms)})", factor, "", TRIALS, **own)


def band(sheet, answer, of, spread, doubts):
    """Work out how wide a band is: the doubts add as squares, 1.645 of them hold nine in ten.

    ``doubts`` are (words, standard deviation of the logarithm, source).
    """
    own = {"z": Given("deviations that hold nine in ten", BAND, "", "normal law", constant=True)}
    for number, (words, deviation, source) in enumerate(doubts, 1):
        own[f"σ_{number}"] = Given(words, float(deviation), "", source)
    squares = "+".join(f"σ_{number}**2" for number in range(1, len(doubts) + 1))
    name = f"band of the {of}: nine in ten lie within this factor, up or down"
    why = "doubts of the logarithm, taken as independent: they add as squares"
    factor = np.exp(BAND * spread)
    sheet.step(answer, name, f"B = exp(z*sqrt({squares}))", factor, "", why, **own)


def taught(burn, quantity):
    """Return the doubts of a quantity that the shop can teach."""
    known = burn.shop.known(quantity, burn.setup)
    level = replace(known, noise=0.0).correction(operating_point(burn.point))[1]
    words, source = "level of a shop not tried yet", "spread of published levels between shops"
    if burn.shop.knows(quantity, burn.setup):
        words, source = "what the trials leave open of level and slopes", TRIALS
    doubts = [(words, level, source), ("from burn to burn", known.noise, ASSUMED)]
    return doubts + _dials(burn, quantity, burn.shop.learned_at(quantity, burn.setup))


def untaught(burn, name, quantity):
    """Return the doubts of a quantity that no trial can teach yet; it follows ``quantity``."""
    own = ("the formula itself", answers.UNTAUGHT[name], ASSUMED)
    return [own, *_dials(burn, quantity)]


def plate(burn):
    """Return the doubt of a plate's amps, until every position is measured."""
    if burn.setup.machine is None or burn._current_measured:
        return []
    return [("amps of a plate against true amps", answers._DIAL_SCALE, ASSUMED)]


def _dials(burn, quantity, learned_at=None):
    """Return the doubt of what the switches are worth, as this quantity feels it."""
    if not burn._dial_spreads:
        return []
    doubts, follows = burn._dial_spreads, burn._follows(quantity)
    felt = ", ".join(
        f"{dial.rsplit('_', 1)[0].replace('_', ' ')} {doubt:.2f} times {abs(follows[dial]):.2f}"
        for dial, doubt in doubts.items()
    )
    source = f"{MACHINE_FILE}: {felt} (doubt times how strongly the answer follows)"
    total = burn._widened(0.0, quantity, learned_at)
    return [("what the switch positions are worth", total, source)]
