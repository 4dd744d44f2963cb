"""The questions a working answers, and where its formulas come from."""

MINUTES, FINISH, SIDE = "minutes", "finish", "hole over electrode"
WEAR, METERS, HEAT = "electrode", "meters", "heat in the part"
SPARK, PULSES = "one spark", "pulses"

ASSUMED, DERIVED, DEFINITION, MEMORY = "assumption", "derived here", "definition", "from memory"
THEORY = f"circuit theory, {DERIVED}"
DELAY_LAW = f"law of delay, {MEMORY}"
IKAI = "Ikai and Hashiguchi (1995), ISEM-XI, 163-170; from memory"
TABLE = (
    "solved heat problem, built by this kit: growing Gaussian source, melting, vapour limit; no "
    "measured crater checks it"
)
AS_SET, MACHINE_FILE, TRIALS = "as set", "machine file", "this shop's own trials"
