"""How every figure looks: dark lines on white, a colour and a second cue for each thing."""

# Colours that differ for colour-blind readers too: Okabe and Ito (2008), Color Universal Design.
INK, BLUE, ORANGE, GREEN = "#1a1a1a", "#0072b2", "#d55e00", "#009e73"
PALE, GRID = "#b8b8b8", "#e3e3e3"
BAND = "rgba(0, 114, 178, 0.16)"
_SERIES = (1, 2, 5)

AXIS = {
    "showline": True,
    "linecolor": INK,
    "gridcolor": GRID,
    "zeroline": False,
    "ticks": "outside",
    "title_standoff": 8,
}
LAYOUT = {
    "template": "none",
    "paper_bgcolor": "white",
    "plot_bgcolor": "white",
    "font": {"family": "sans-serif", "size": 13, "color": INK},
    "margin": {"l": 62, "r": 12, "t": 34, "b": 48},
    "hoverlabel": {"bgcolor": "white", "font": {"color": INK}},
    "autosize": True,
}


def ticks(low, high):
    """Return the 1-2-5 numbers of a logarithmic axis between two ends, and their texts."""
    values = [m * 10.0**e for e in range(-4, 7) for m in _SERIES]
    shown = [v for v in values if low <= v * 1.0001 and v <= high * 1.0001]
    if len(shown) > 9:
        shown = [v for v in shown if f"{v:e}"[0] == "1"]
    return shown, [f"{v:g}" if v < 1e4 else f"{v:,.0f}".replace(",", " ") for v in shown]
