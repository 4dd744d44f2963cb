"""What one spark does: its current, its time, its energy, what it melts."""

from functools import partial

import numpy as np

from edmkit import tables
from edmkit.physics import crater, relaxation, states
from edmkit.units import mJ, um, um3, us
from edmkit.working.sources import (
    AS_SET,
    ASSUMED,
    DEFINITION,
    DELAY_LAW,
    DERIVED,
    IKAI,
    MACHINE_FILE,
    MEMORY,
    SPARK,
    TABLE,
    THEORY,
)

_KNOWN = {
    "measured": "measured",
    "plate": "from the plate",
    "guessed": "guessed",
    "unknown": "unknown, filled in from its neighbours",
}
_DIALS = {
    "peak_current_A": ("I_dial", "current as dialled", "A"),
    "on_time_us": ("t_on", "on-time", "µs"),
    "off_time_us": ("t_off", "off-time", "µs"),
    "open_voltage_V": ("U_0", "voltage of the open gap", "V"),
}
_CIRCUIT = {
    "resistance_ohm": ("R_c", "charging resistor", "Ω"),
    "capacitance_uF": ("C", "capacitor", "µF"),
    "supply_V": ("U_s", "supply voltage", "V"),
    "inductance_uH": ("L", "inductance of the discharge loop", "µH"),
}
_METAL = {
    "conductivity": ("k", "heat conductivity, hot", "W/(m K)"),
    "density": ("ρ", "density", "kg/m³"),
    "heat_capacity": ("c", "mean heat capacity up to melting", "J/(kg K)"),
}


# --- current and burning time ---------------------------------------------------------------
def pulse_generator(sheet, burn):
    """Work out current and burning time of a spark of a pulse generator."""
    step, point, machine = partial(sheet.step, SPARK), burn.point, burn.setup.machine
    for name in _DIALS:
        _dial(sheet, burn, name)
    _discharge_voltage(sheet, burn)
    tap = "I_dial"
    if machine is not None and machine.plate_current == "short circuit":
        tap, driving = "I_tap", machine.driving_voltage_V
        supply = "U_0" if driving is None else "U_d"
        sheet.given("U_d", "voltage that drives the current", driving or 0, "V", MACHINE_FILE)
        equation = f"I_tap = I_dial*({supply}-U_e)/{supply}"
        law = f"Ohm's law, {DERIVED}"
        step("current with the gap burning", equation, point.tap_current, "A", law)
    source = ASSUMED if machine is None else f"{MACHINE_FILE}; 10 A/µs assumed if it says nothing"
    sheet.given("c_I", "how fast the current climbs", point.current_rise * us, "A/µs", source)
    equation = f"I = smaller({tap}, c_I*t_on)"
    step("spark current", equation, point.spark_current, "A", DERIVED)
    _burning_time(sheet, point)


def _dial(sheet, burn, name):
    """Take what a switch is set to, with how well that is known."""
    value, machine, source = getattr(burn.settings, name), burn.setup.machine, AS_SET
    if machine is not None:
        switch = getattr(machine, name)
        choice = switch.choices[int(switch.index(value))]
        source = f"switch position {choice.label}, {_KNOWN[choice.how_known]}"
    symbol, words, unit = _DIALS[name]
    sheet.given(symbol, words, value, unit, source)


def _discharge_voltage(sheet, burn):
    source = f"{MEMORY}: 20 to 30 V with metal, 25 to 40 V with graphite electrodes"
    volts = burn.point.discharge_voltage
    sheet.given("U_e", "voltage of the burning gap", volts, "V", source)


def _burning_time(sheet, point):
    """Work out the mean wait at the usual gap and how long a spark burns."""
    step, name = partial(sheet.step, SPARK), "burning time of a spark"
    sheet.constants(ASSUMED, ("τ_0", states.DELAY / us, "mean wait at the usual gap", "µs"))
    duration = point.discharge_duration / us
    if not point.fixed_period:
        why = "the on-time counts from the breakdown"
        return step(name, "t = t_on", duration, "µs", why)
    usual, where = point._default_timing, "at the usual gap"
    early = f"share of the pulses that end before a spark, {where}"
    step(early, "p_o0 = exp(-t_on/τ_0)", usual.open, "", DELAY_LAW)
    equation = "t_w0 = τ_0-t_on*p_o0/(1-p_o0)"
    wait = usual.ignition_delay / us
    step(f"mean wait of those that spark, {where}", equation, wait, "µs", DELAY_LAW)
    why = "on this machine the on-time counts from the voltage: the wait is lost"
    return step(name, "t = t_on-t_w0", duration, "µs", why)


def relaxation_circuit(sheet, burn):
    """Work out the spark of a capacitor that charges through a resistor."""
    step, circuit, point = partial(sheet.step, SPARK), burn.settings, burn.point
    for name, (symbol, words, unit) in _CIRCUIT.items():
        sheet.given(symbol, words, getattr(circuit, name), unit, AS_SET)
    _discharge_voltage(sheet, burn)
    name = "voltage at which the gap fires"
    if circuit.breakdown_V is None:
        best = relaxation.BEST_BREAKDOWN_SHARE
        sheet.constants(THEORY, ("b", best, "share of the supply with the best power"))
        step(name, "u = b*U_s", point.open_voltage, "V", THEORY)
    else:
        sheet.given("u", name, circuit.breakdown_V, "V", AS_SET)
    spark = point.spark
    equation = "t_c = -R_c*C*ln(1-u/U_s)"
    step("time to charge the capacitor", equation, spark.charge_time / us, "µs", THEORY)
    why = f"half a swing of the loop, {THEORY}"
    step("burning time of a spark", "t = π*sqrt(L*C)", spark.duration / us, "µs", why)
    why = f"an even pulse with the capacitor's energy and this time; {ASSUMED}"
    step("spark current", "I = C*u**2/2/(U_e*t)", point.spark_current, "A", why)


# --- energy and crater ----------------------------------------------------------------------
def one_spark(sheet, burn):
    """Work out energy, heat source and crater of one spark."""
    step, point, metal = partial(sheet.step, SPARK), burn.point, burn.setup.work
    energy = point.pulse_energy / mJ
    step("energy of one spark", "E = U_e*I*t/1000", energy, "mJ", DEFINITION)
    share = "assumption, good to a factor of 1.5; a constant share: DiBitonto et al. (1989)"
    sheet.given("F", "share of the energy that enters the work", point.energy_share, "", share)
    read = tables.table(metal).at(*_heat_source(sheet, point, metal))
    where, melt = f"crater table of {metal.name} at this q and Fo", point.crater
    for number, (symbol, ratio) in enumerate((("r", "r/R"), ("d", "d/D"), ("V", "∛(V/(R² D))"))):
        sheet.given(f"x_{symbol}", f"{ratio} as the table gives it", read[number], "", where)
    step("melt radius of one spark", "r = R*x_r", melt.radius / um, "µm", TABLE)
    step("melt depth of one spark", "d = D*x_d", melt.depth / um, "µm", TABLE)
    step("melt volume of one spark", "V = R**2*D*x_V**3", melt.volume / um3, "µm³", TABLE)


def _heat_source(sheet, point, metal):
    """Work out the source; return the flux and Fourier number that the table is read at."""
    step, current = partial(sheet.step, SPARK), point.spark_current
    spark = (point.discharge_voltage, point.energy_share, metal)
    factor = ("a", 2.04e-3 / um, "factor of the source radius", "µm")
    powers = ("m", 0.43, "exponent of the current"), ("n", 0.44, "exponent of the time")
    sheet.constants(IKAI, factor, *powers)
    _take_metal(sheet, metal)
    time, t = _melting_time(sheet, point, spark)
    radius = crater.source_radius(current, time) / um
    step("radius of the heat source", f"R = a*I**m*({t}/10**6)**n", radius, "µm", IKAI)
    flux = crater.flux_number(current, time, *spark)
    equation = "q = 10**6*F*U_e*I/(π*R*k*ΔT)"
    step("heat flux number: heat coming in over heat led away", equation, flux, "", DERIVED)
    spreads = metal.diffusivity * 1e6
    step("thermal diffusivity", "α = 10**6*k/(ρ*c)", spreads, "mm²/s", DEFINITION)
    length = np.sqrt(metal.diffusivity * time) / um
    name = "diffusion length: how far heat runs in that time"
    step(name, f"D = sqrt(α*{t})", length, "µm", DEFINITION)
    fourier = crater.fourier_number(current, time, metal)
    name = "Fourier number: that length over the source radius, squared"
    step(name, "Fo = (D/R)**2", fourier, "", DEFINITION)
    return flux, fourier


def _take_metal(sheet, metal):
    """Take what the crater needs to know of the work."""
    for name, (symbol, words, unit) in _METAL.items():
        sheet.given(symbol, words, getattr(metal, name), unit, _from_file(metal, name))
    words, rise = "rise from 20 °C to the melting point", metal.melting_point - crater.START
    sheet.given("ΔT", words, rise, "K", _from_file(metal, "melting_point"))


def _from_file(metal, name):
    return f"material file, {metal.name}: {metal.properties[name].source}"


def _melting_time(sheet, point, spark):
    """Return the time a spark melts, and its symbol: shorter than it burns where it thins out."""
    step, current = partial(sheet.step, SPARK), point.spark_current
    least = tables.table(spark[-1]).flux_numbers[0]
    longest = crater.longest_melting_time(current, *spark, least)
    if longest >= point.discharge_duration:
        return point.discharge_duration, "t"
    sheet.constants(DERIVED, ("q_min", least, "heat flux number that melts nothing more"))
    first = crater.flux_number(current, us, *spark)
    equation = "q_1 = 10**6*F*U_e*I/(π*(a*I**m/10**(6*n))*k*ΔT)"
    step("heat flux number after 1 µs", equation, first, "", DERIVED)
    why = f"the spark widens and its heat thins out, {DERIVED}"
    name = "time after which nothing more melts"
    step(name, "t_m = (q_1/q_min)**(1/n)", longest / us, "µs", why)
    return longest, "t_m"
