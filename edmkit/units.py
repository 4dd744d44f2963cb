"""Factors into and out of SI: ``100 * us`` to enter, ``energy / mJ`` to leave."""

us = 1e-6  # second
ms = 1e-3
minute = 60.0
um = 1e-6  # metre
mm = 1e-3
inch = 25.4e-3
thou = 25.4e-6
mm2 = 1e-6  # square metre
cm2 = 1e-4
mm3 = 1e-9  # cubic metre
um3 = 1e-18
mm3_per_min = mm3 / minute
ml_per_min = 1e-6 / minute
mJ = 1e-3  # joule
kHz = 1e3
kPa = 1e3
uF = 1e-6  # farad
uH = 1e-6  # henry
percent = 0.01

ZERO_CELSIUS = 273.15  # kelvin
