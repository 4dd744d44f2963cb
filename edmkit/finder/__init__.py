"""Every setting of the machine, the best that meet the limits, and with what chance."""
