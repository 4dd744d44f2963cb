"""From the spark to the answers: minutes, finish, hole over electrode, wear, heat in the part."""

from functools import partial

import numpy as np

from edmkit.physics import crater, finish, gap, removal
from edmkit.settings import Relaxation
from edmkit.units import kHz, mm2, percent, um, us
from edmkit.working.bands import band, shop_factor, taught, untaught
from edmkit.working.pulses import usual_gap
from edmkit.working.sources import (
    AS_SET,
    ASSUMED,
    DEFINITION,
    DERIVED,
    FINISH,
    HEAT,
    MEMORY,
    MINUTES,
    SIDE,
    TRIALS,
    WEAR,
)

_YIELD = f"{ASSUMED} from the spread of published rates, good to a factor of 7"
_FITTED = "fitted to five published and remembered surfaces"
_TREND = "trend with time: Patel et al. (1989), J. Appl. Phys. 66, 4104; levels from memory"
_DEBRIS = "debris size as the cause: Juvkam-Wold (1967), SM thesis, abstract; factor assumed"
_EJECTED = "volume balance of a surface made crater by crater, 0.3 to 0.8"
_LAYER = "trade text, 5 to 127 µm at all energies; ratio 2 to 5 from memory"


def _is_circuit(burn):
    return isinstance(burn.settings, Relaxation)


# --- minutes --------------------------------------------------------------------------------
def removal_rate(sheet, burn):
    """Work out sparks per second, the yield and the removal rate."""
    step, point, rate = partial(sheet.step, MINUTES), burn.point, burn.removal_rate_mm3_per_min
    each = "1000/(τ_0+t_on+t_off)"
    if _is_circuit(burn):
        each = "1000/(t_c+t)"
    elif point.fixed_period:
        each = "1000*(1-p_o0)/(t_on+t_off)"
    count = point.frequency / kHz
    name = "sparks per second at the usual gap, in thousands"
    step(name, f"f = {each}", count, "kHz", DEFINITION)
    _yield(sheet, point)
    shop_factor(sheet, burn, MINUTES, "removal_rate", "k_V")
    speed = "" if _is_circuit(burn) else "*s"
    equation = f"Q = k_V*V*f*η{speed}*60/10**6"
    why = f"{DEFINITION}; 60/10^6 turns µm³ and thousands per second into mm³ per minute"
    step("removal rate while burning", equation, rate.likely, "mm³/min", why)


def _yield(sheet, point):
    """Work out the share of the melt that leaves."""
    step, value = partial(sheet.step, MINUTES), point.removal_yield
    small, large = removal.YIELD_SMALL, removal.YIELD_LARGE
    sheet.constants(
        _YIELD,
        ("A_small", removal.AREA_SMALL / mm2, "area of a small end", "mm²"),
        ("A_large", removal.AREA_LARGE / mm2, "area of a large end", "mm²"),
        ("η_small", small, "share that leaves under a small end"),
        ("η_large", large, "share that leaves under a large end"),
    )
    place = np.log(value / small) / np.log(large / small)
    equation = "w = smaller(larger(ln(A/A_small)/ln(A_large/A_small), 0), 1)"
    step("where this end lies between a small and a large one", equation, place, "", _YIELD)
    equation = "η = η_small*(η_large/η_small)**w"
    step("share of the melt that leaves (yield)", equation, value, "", _YIELD)


def minutes(sheet, burn, hole):
    """Work out the minutes for the hole and the dial step."""
    step, settings, share = partial(sheet.step, MINUTES), burn.settings, ""
    sheet.given("V_h", "work to remove", hole.volume_mm3, "mm³", "size and depth of the hole")
    if getattr(settings, "lift_burn_s", None) is not None:
        share = "/s_b"
        sheet.given("t_b", "burning between two lifts", settings.lift_burn_s, "s", AS_SET)
        sheet.given("t_u", "head up", settings.lift_up_s, "s", AS_SET)
        burning = settings.burn_share
        step("share of the clock that burns", "s_b = t_b/(t_b+t_u)", burning, "", DEFINITION)
    equation = f"t_h = V_h/Q{share}"
    step("minutes for this hole", equation, hole.minutes.likely, "min", DEFINITION)
    if hole.dial_step_um is not None:
        dial = hole.dial_step_um.likely
        step("dial step per lift", "Δz = 1000*Q/60*t_b/A", dial, "µm", DEFINITION)


def minutes_band(sheet, burn):
    """Work out the band of the minutes, which is that of the removal rate."""
    spread, doubts = burn.removal_rate_mm3_per_min.spread, taught(burn, "removal_rate")
    band(sheet, MINUTES, "minutes and of the removal rate", spread, doubts)


# --- finish and size ------------------------------------------------------------------------
def roughness(sheet, burn):
    """Work out roughness and class."""
    step, rough = partial(sheet.step, FINISH), burn.roughness_Ra_um
    shop_factor(sheet, burn, FINISH, "roughness_Ra", "k_R")
    sheet.constants(_FITTED, ("c_R", finish.RA_FACTOR, "Ra over crater size"))
    equation = "Ra = k_R*c_R*sqrt(d*cbrt(V))"
    step("roughness Ra", equation, rough.likely, "µm", f"{DERIVED}, {_FITTED}")
    source = "VDI 3400, formula as printed by a trade journal"
    vdi = burn.finish_class.likely
    step("VDI 3400 class", "K = 20*log10(10*Ra)", vdi, "", source)
    per_ra = ("c_Rz", finish.RZ_PER_RA, "Rz over Ra"), ("c_Rt", finish.RT_PER_RA, "Rt over Ra")
    sheet.constants(MEMORY, *per_ra)
    step("roughness Rz", "Rz = c_Rz*Ra", burn.roughness_Rz_um.likely, "µm", MEMORY)
    step("roughness Rt", "Rt = c_Rt*Ra", burn.roughness_Rt_um.likely, "µm", MEMORY)
    doubts = taught(burn, "roughness_Ra")
    band(sheet, FINISH, "roughness", rough.spread, doubts)


def side_gap(sheet, burn):
    """Work out the gaps and how much larger the hole is than the electrode."""
    step, point, side = partial(sheet.step, SIDE), burn.point, burn.gap_side_um
    _gap_in_front(sheet, burn)
    sheet.constants(_EJECTED, ("η_c", finish.EJECTED_SHARE, "share of a crater thrown out"))
    debris = gap.debris_diameter(point.crater.volume) / um
    name = "debris diameter: one ball of what a spark throws out, an upper size"
    step(name, "d_p = cbrt(6*η_c*V/π)", debris, "µm", DERIVED)
    shop_factor(sheet, burn, SIDE, "gap_side", "k_s")
    widens = ("c_p", gap.DEBRIS_SHARE, "share of it that widens the gap")
    sheet.constants(f"{ASSUMED}, 0.4 to 1.6", widens)
    equation = "g_s = k_s*(g+c_p*d_p)"
    step("side gap: overcut per side", equation, side.likely, "µm", _DEBRIS)
    name = "hole over electrode, on diameter"
    step(name, "ΔØ = 2*g_s", 2 * side.likely, "µm", DEFINITION)
    band(sheet, SIDE, "side gap", side.spread, taught(burn, "gap_side"))


def _gap_in_front(sheet, burn):
    """Work out the gap in front, unless it is set."""
    ahead, name, physics = burn.gap_front_um, "gap in front", burn.point.gap_front / um
    if _is_circuit(burn):
        usual_gap(sheet, burn, SIDE, "u")
        sheet.step(SIDE, name, "g = g_0", physics, "µm", "the usual gap")
    elif burn.settings.gap_front_um is None:
        sheet.step(SIDE, name, "g = x*g_0", physics, "µm", DEFINITION)
    else:
        return
    if burn.shop.knows("gap_front", burn.setup):
        shop_factor(sheet, burn, SIDE, "gap_front", "k_g")
        sheet.step(SIDE, f"{name} in this shop", "g_f = k_g*g", ahead.likely, "µm", TRIALS)
    band(sheet, SIDE, name, ahead.spread, taught(burn, "gap_front"))


# --- electrode and heat ---------------------------------------------------------------------
def electrode_wear(sheet, burn, hole):
    """Work out the electrode's wear and what comes off its end."""
    step, law, wear = partial(sheet.step, WEAR), burn.point.wear_law, burn.relative_wear_percent
    name = "relative wear: electrode lost over work removed, by volume"
    if law is None:
        why = "no figure for this pair and polarity: burn a trial and measure it"
        return step(name, "θ", np.nan, "%", why)
    shop_factor(sheet, burn, WEAR, "relative_wear", "k_θ")
    step(name, f"θ = k_θ*{_wear_law(sheet, law)}", wear.likely, "%", _TREND)
    if hole is not None:
        sheet.given("A_e", "section of the electrode", hole.section_mm2, "mm²", "hole less gap")
        worn, name = hole.end_wear_mm.likely, "length off the electrode's end, worn evenly"
        step(name, "Δl = θ/100*V_h/A_e", worn, "mm", DERIVED)
    doubts = taught(burn, "relative_wear")
    return band(sheet, WEAR, "wear", wear.spread, doubts)


def _wear_law(sheet, law):
    """Take the constants of a wear law and return it as an expression."""
    sheet.constants(
        law.source,
        ("θ_10", law.at_10us / percent, "wear at 10 µs and 10 A", "%"),
        ("t_s", law.shift / us, "time until the electrode melts no more", "µs"),
        ("n_t", law.exponent, "how steeply wear falls with the time"),
        ("n_I", law.current_exponent, "how steeply wear falls with the current"),
        ("θ_min", law.floor / percent, "what long pulses leave", "%"),
        ("θ_least", law.at_least / percent, "the least with this polarity", "%"),
    )
    current = "*(I/10)**-n_I" if law.current_exponent else ""
    falls = f"θ_10*((t+t_s)/(10+t_s))**-n_t{current}+θ_min"
    return f"larger({falls}, θ_least)" if law.at_least else f"({falls})"


def heat(sheet, burn):
    """Work out recast layer, rehardened and tempered depth."""
    step, melt, recast = partial(sheet.step, HEAT), burn.point.crater, burn.recast_um
    sheet.constants(_LAYER, ("c_w", finish.RECAST_PER_RA, "recast layer over Ra"))
    equation, doubts = "w_r = c_w*Ra", untaught(burn, "recast", "roughness_Ra")
    if burn.shop.knows("recast", burn.setup):
        shop_factor(sheet, burn, HEAT, "recast", "k_w")
        equation, doubts = "w_r = k_w*c_w*Ra/k_R", taught(burn, "recast")
    step("recast (white) layer, likely mean", equation, recast.likely, "µm", _LAYER)
    band(sheet, HEAT, "recast layer", recast.spread, doubts)
    low, why = finish.recast_depth_low(melt) / um, "a third to a half of what texts name"
    name = "recast layer, low estimate: what stays of one spark's melt"
    step(name, "w_l = (1-η_c)*V/(π*r**2)", low, "µm", why)
    metal = burn.setup.work
    hot = f"passed {crater.REHARDENS:g} K, {ASSUMED}"
    _heated(sheet, burn, "rehardened", "z_h", melt.rehardened_depth, hot)
    if metal.temper_limit:
        source = metal.properties["temper_limit"].source
        warm = f"passed {metal.temper_limit:g} K; material file, {metal.name}: {source}"
        _heated(sheet, burn, "tempered", "z_t", melt.tempered_depth, warm)


def _heated(sheet, burn, name, symbol, depth, source):
    """Work out how deep the metal was changed, where it can be."""
    below = getattr(burn, f"{name}_um")
    if not below.likely == below.likely:
        return
    words = f"{name} depth from the old surface, by the crater table"
    sheet.given(symbol, words, depth / um, "µm", source)
    equation = f"h_{symbol[-1]} = {symbol}-η_c*V/(π*r**2)"
    sheet.step(HEAT, f"{name} depth below the new surface", equation, below.likely, "µm", DERIVED)
    band(sheet, HEAT, f"{name} depth", below.spread, untaught(burn, "heat_affected", name))
