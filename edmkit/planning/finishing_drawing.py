"""A pass of finishing as a small section through the surface, heights to scale, as SVG."""

import numpy as np

from edmkit.physics.finish import RZ_PER_RA
from edmkit.planning.svg import BLUE, HATCH, HATCHED, INK, METAL, ORANGE, path, svg, text
from edmkit.words import three

_CRATERS = 5  # across the picture before the pass; the finer surface has more, by its Ra
_MOST_CRATERS = 40  # finer ones would run into one line


def pass_section(step, deepest_um, display, width=190, height=150):
    """Return what one pass takes: relief and recast before, the stock, the relief it leaves.

    Parameters
    ----------
    step : Step
        The pass.
    deepest_um : float
        Depth that the picture holds, the same for passes side by side [µm].
    display : Display
        Micrometres or thousandths of an inch.
    width, height : float
        Of the picture [pixels].

    Notes
    -----
    Heights are to scale, widths are not: a real surface has no such even craters.
    """
    top, low, right = 8.0, height - 30.0, width - 6.0
    after = float(step.burn.roughness_Ra_um.likely)
    scale = (low - top - 8) / deepest_um
    old = _scallops(6, right, top, scale * step.relief_um, _CRATERS)
    count = min(round(_CRATERS * step.before_Ra_um / after), _MOST_CRATERS)
    line = top + scale * step.stock_um
    new = _scallops(6, right, line, scale * RZ_PER_RA * after, count)
    recast = top + scale * (step.relief_um + step.below_um)
    stock = f"takes {three(display.fine(step.stock_um))} {display.fine_unit} per side"
    parts = [
        HATCH,
        path([*new, (right, low), (6, low)], METAL, INK, 0.6, name="work"),
        path([*old, *reversed(new)], HATCHED, "none", 0, name="stock"),
        path(old, "none", INK, 1.6, closed=False, name="before"),
        path([(6, recast), (right, recast)], "none", ORANGE, 1.4, False, "5 3", name="recast"),
        path(new, "none", BLUE, 2, closed=False, name="after"),
        text(6, height - 10, stock, bold=True),
    ]
    label = f"Surface before and after pass, it {stock}"
    return svg(width, height, label, parts)


def depth_shown_um(steps):
    """Return the depth that pictures of passes side by side must hold [µm].

    Parameters
    ----------
    steps : sequence of Step
        The passes.
    """
    return max(s.stock_um + RZ_PER_RA * float(s.burn.roughness_Ra_um.likely) for s in steps)


def _scallops(left, right, top, tall, count):
    """Return a row of craters that hang from a line, each a parabola."""
    x = np.linspace(0, 1, 8 * count + 1)
    depth = 1 - (2 * (x * count % 1) - 1) ** 2
    return list(zip(left + (right - left) * x, top + tall * depth, strict=True))
