"""What becomes of the pulses: shares, good sparks, the meters, what the electrode's end bears."""

from functools import partial

import numpy as np

from edmkit.physics import gap, removal, states
from edmkit.units import cm2, kHz, mm, um, us
from edmkit.working.bands import band, plate, untaught
from edmkit.working.sources import (
    AS_SET,
    ASSUMED,
    DEFINITION,
    DELAY_LAW,
    DERIVED,
    MACHINE_FILE,
    MEMORY,
    METERS,
    PULSES,
)

_BOOKS = f"book-keeping over the pulses, {DERIVED}"
_SPEED = "good sparks here over those at the usual gap"


def current_limit(sheet, burn):
    """Work out the mean current that the electrode's end bears."""
    setup, machine = burn.setup, burn.setup.machine
    shape = "the electrode's end, fully engaged"
    sheet.given("A", "engaged area", setup.engaged_area_mm2, "mm²", shape)
    sheet.given("L_rim", "engaged rim", setup.rim_mm, "mm", shape)
    if machine is not None and machine.current_caution_A_per_cm2:
        own, source = machine.current_caution_A_per_cm2, MACHINE_FILE
        sheet.given("c_A", "this shop's own limit", own, "A/cm²", source)
        bears = "c_A*A/100"
    else:
        source = f"{MEMORY} and {ASSUMED}; shops differ tenfold"
        bears = _usual_limit(sheet, setup, source)
    name = "current limit: mean current that this end bears"
    sheet.step(PULSES, name, f"I_max = {bears}", burn.point.current_limit, "A", source)


def _usual_limit(sheet, setup, source):
    by_area = ("c_A", removal.PER_AREA * cm2, "borne by the area", "A/cm²")
    by_rim = ("c_L", removal.PER_RIM * mm, "borne by the rim", "A/mm")
    at_most = ("c_S", removal.STRIP * cm2, "at most, by the area", "A/cm²")
    sheet.constants(source, by_area, by_rim, at_most)
    factor = removal.ELECTRODE_FACTOR.get(setup.electrode.key, 1.0)
    words = "factor of the electrode (copper 1, graphite 1.3, brass 0.5)"
    sheet.given("f_e", words, factor, "", MEMORY)
    bears = "f_e*smaller(larger(c_A*A/100, c_L*L_rim), c_S*A/100)"
    if not setup.flushing.deep_blind:
        return bears
    sheet.constants(source, ("f_b", 0.5, "deep blind hole, nothing flows through the electrode"))
    return f"f_b*{bears}"


# --- shares of the pulses -------------------------------------------------------------------
def pulse_shares(sheet, burn):
    """Work out what the pulses do at this gap, and at the usual one where that is another."""
    step, point = partial(sheet.step, PULSES), burn.point
    fair, flushing = states.DEBRIS["fair"], burn.setup.flushing
    told = f"{flushing.quality} flushing" if flushing.debris is None else "from the flow"
    words = "debris in the gap over its limit (good 0.1, fair 0.5, poor 2, blocked 10)"
    sheet.given("G", words, point.debris, "", f"{told}; {ASSUMED}")
    sheet.given("G_0", "debris in the gap, fair flushing", fair, "", ASSUMED)
    _gap_ratio(sheet, burn)
    wait = "" if point.fixed_period else "τ_0+"
    name = "mean current if every pulse sparked, over the current limit"
    step(name, f"j = I*t/({wait}t_on+t_off)/I_max", point.current_ratio, "", DERIVED)
    _take_constants(sheet)
    _shares(sheet, point, point.states, ("y", "G", ""), "at this gap")
    if point.speed_at_gap == 1.0:
        why = "this is the usual gap with fair flushing, which it is counted from"
        return step(_SPEED, "s", 1.0, "", why)
    sheet.given("y_0", "clear gap, fair flushing, over the usual one", 1.0, "", DEFINITION)
    usual = point._states(1.0, fair, point.current_ratio)
    _shares(sheet, point, usual, ("y_0", "G_0", "0"), "at the usual gap, fair flushing")
    why = "the removal counts only this ratio: the level is in the yield"
    return step(_SPEED, "s = f_n/f_n0", point.speed_at_gap, "", why)


def _gap_ratio(sheet, burn):
    """Work out the gap in front over the usual one."""
    step, point, settings = partial(sheet.step, PULSES), burn.point, burn.settings
    usual_gap(sheet, burn, PULSES, "U_0")
    holds = states.gap_that_holds(point.debris)
    why = f"debris bridges part of the gap, so the servo opens it; {ASSUMED}"
    name = "gap at which this debris leaves the voltage as it is, over the usual one"
    step(name, "x_h = sqrt((1+G)/(1+G_0))", holds, "", why)
    equation, source = "x = x_h", "left to the servo"
    if settings.gap_front_um is not None:
        sheet.given("g", "gap in front", settings.gap_front_um, "µm", AS_SET)
        equation, source = "x = g/g_0", DEFINITION
    elif settings.servo_voltage_V is not None:
        equation, volts = "x", settings.servo_voltage_V
        source = f"found by trial: the mean voltage is then {volts:g} V, as set"
    step("gap in front over the usual one", equation, point.gap_ratio, "", source)
    step("clear gap over the usual one", "y = x/x_h", point.gap_ratio / holds, "", why)


def usual_gap(sheet, burn, answer, voltage):
    """Work out the gap that the open voltage jumps."""
    source = f"{ASSUMED}, 2 to 10 V/µm in a used spark gap"
    sheet.constants(source, ("E_b", gap.STRENGTH * um, "strength of the fluid", "V/µm"))
    usual = burn.point.gap_default / um
    sheet.step(answer, "usual gap in front", f"g_0 = {voltage}/E_b", usual, "µm", source)


def _take_constants(sheet):
    """Take the constants of the pulse shares; every one is assumed."""
    arc = states.ARC
    sheet.constants(
        ASSUMED,
        ("t_max", states.LONGEST_WAIT / us, "wait after which a pulse counts as open", "µs"),
        ("y_s", states.SHORT_AT, "clear gap where half the pulses short"),
        ("n_s", states.SHORT_POWER, "how steeply shorts come with a smaller gap"),
        ("b_0", arc["base"], "leaning to arcs, base"),
        ("b_1", arc["debris"], "weight of the debris"),
        ("b_2", arc["rest"], "weight of the rest between pulses"),
        ("b_3", arc["density"], "weight of the current over its limit"),
        ("t_c", states.SHORTEST_REST / us, "least rest that clears the spark channel", "µs"),
        ("c_t", states.REST_SHARE, "rest that clears it, as a share of the on-time"),
    )


def _shares(sheet, point, found, symbols, where):
    """Work out the shares of the pulses at one gap and flushing, and the good sparks."""
    step, fixed = partial(sheet.step, PULSES), point.fixed_period
    y, dirt, tag = symbols
    opens, shorts, arcs, good, wait, period, sparks = (
        f"{name}{tag}" for name in ("p_o", "p_s", "p_a", "p_n", "t_w", "T_p", "f_n")
    )
    if not (fixed and tag):  # else worked out with the burning time
        longest = "t_on" if fixed else "t_max"
        mean = "τ_0" if tag else "τ_0*y**2"
        equation = f"{opens} = exp(-{longest}/({mean}))"
        step(f"share that stays open {where}", equation, found.open, "", DELAY_LAW)
        equation = f"{wait} = {mean}" + (f"-t_on*{opens}/(1-{opens})" if fixed else "")
        delay = found.ignition_delay / us
        step(f"mean wait of those that spark {where}", equation, delay, "µs", DELAY_LAW)
    equation = f"{shorts} = (1-{opens})/(1+({y}/y_s)**n_s)"
    step(f"share that shorts {where}", equation, found.shorted, "", ASSUMED)
    lean = f"λ{tag and '_0'}"
    equation = f"{lean} = b_0+b_1*ln({dirt})+b_2*ln(larger(t_c, c_t*t_on)/t_off)+b_3*ln(j)"
    leaning = np.log(found.arcing / found.normal)
    step(f"leaning to arcs {where}", equation, leaning, "", ASSUMED)
    equation, logistic = (
        f"{arcs} = (1-{opens}-{shorts})/(1+exp(-{lean}))",
        "logistic law; " + ASSUMED,
    )
    step(f"share that arcs {where}", equation, found.arcing, "", logistic)
    equation = f"{good} = (1-{opens}-{shorts})/(1+exp({lean}))"
    step(f"share that sparks well {where}", equation, found.normal, "", "the four make 1")
    waits = "" if fixed else f"+{good}*{wait}+{opens}*(t_max-t_on)"
    mean = states.mean_period(found, point.on_time, point.off_time) / us
    name = f"mean time from pulse to pulse {where}"
    step(name, f"{period} = t_on+t_off{waits}", mean, "µs", _BOOKS)
    count = states.sparks_per_second(found, point.on_time, point.off_time) / kHz
    name = f"good sparks {where}, thousand per second"
    step(name, f"{sparks} = 1000*{good}/{period}", count, "kHz", _BOOKS)


# --- the meters -----------------------------------------------------------------------------
def meters(sheet, burn):
    """Work out what voltmeter and ammeter read."""
    step, volts, amps = partial(sheet.step, METERS), burn.mean_voltage_V, burn.average_current_A
    fixed = burn.point.fixed_period
    burning, longest = ("(t_on-t_w)", "t_on") if fixed else ("t_on", "t_max")
    sparking, arcing = f"p_n*(U_0*t_w+U_e*{burning})", "p_a*U_e*t_on"
    equation = f"U_m = ({sparking}+{arcing}+p_o*U_0*{longest})/T_p"
    step("mean voltage", equation, volts.likely, "V", _BOOKS)
    equation = f"I_m = I*(p_n*{burning}+(p_a+p_s)*t_on)/T_p"
    step("mean current", equation, amps.likely, "A", _BOOKS)
    _meter_bands(sheet, burn, "100*t_on/(t_on+t_off)")


def meters_of_circuit(sheet, burn):
    """Work out what the meters of a relaxation circuit read."""
    step, volts, amps = partial(sheet.step, METERS), burn.mean_voltage_V, burn.average_current_A
    step("mean voltage", "U_m = U_s+u/ln(1-u/U_s)", volts.likely, "V", DERIVED)
    step("mean current", "I_m = C*u*f/1000", amps.likely, "A", DERIVED)
    _meter_bands(sheet, burn, "100*t/(t+t_c)")


def _meter_bands(sheet, burn, duty):
    step, volts, amps = partial(sheet.step, METERS), burn.mean_voltage_V, burn.average_current_A
    if volts.spread:
        doubts = untaught(burn, "mean_voltage", "mean_voltage")
        band(sheet, METERS, "mean voltage", volts.spread, doubts)
    doubts = untaught(burn, "average_current", "average_current") + plate(burn)
    band(sheet, METERS, "mean current", amps.spread, doubts)
    name = "duty: share of on-time as dialled"
    step(name, f"D_f = {duty}", burn.duty_factor_percent.likely, "%", DEFINITION)
    density = burn.current_density_A_per_cm2.likely
    step("mean current density", "J = I_m/A*100", density, "A/cm²", DEFINITION)
