"""The crater of one spark, cut through the middle, to scale."""

from dataclasses import dataclass
from math import pi

import numpy as np

from edmkit.checks import Refusal
from edmkit.physics.crater import source_radius
from edmkit.physics.finish import EJECTED_SHARE
from edmkit.plots.scale import marks, steady
from edmkit.plots.style import AXIS, BLUE, GREEN, INK, LAYOUT, ORANGE
from edmkit.units import um
from edmkit.words import three

(ELECTRODE, SOFTENED, HARDENED, MELTED, CRATER, SURFACE, SOURCE, LEADERS, DOTS, LABELS) = range(10)
_FULLEST = 0.95  # share of its enclosing cylinder that a drawn pool holds at most
_WIDTH, _HEIGHT, _MARGIN = 376, 470, {"l": 46, "r": 8, "t": 10, "b": 48}  # pixels
_TOP, _BOTTOM = 0.75, -1.55  # of the picture, over the scale
_ASPECT = (_WIDTH - _MARGIN["l"] - _MARGIN["r"]) / (_HEIGHT - _MARGIN["t"] - _MARGIN["b"])
_SIDE = _ASPECT * (_TOP - _BOTTOM) / 2  # as wide as the same scale makes it
_ROW, _FIRST_ROW = 0.135, 0.15  # between the rows of words, and from the deepest line to the first
_DEEPEST = 0.85  # a line may lie, over the scale: leaves four rows of words
_HIGHEST_GAP = 0.45  # over the scale, that leaves the electrode room for words
_COLOURS = {SOFTENED: GREEN, HARDENED: BLUE, MELTED: ORANGE, CRATER: INK}


@dataclass(frozen=True)
class Bowl:
    """A round hollow of depth d (1 - (x/r)^steepness) below the old surface."""

    radius: float
    depth: float
    steepness: float

    def __bool__(self):
        return self.radius > 0 and self.depth > 0

    def below(self, x):
        """Return the depth of the hollow at a distance from its middle."""
        return self.depth * (1 - np.abs(np.asarray(x) / self.radius) ** self.steepness)

    @property
    def line(self):
        """X and height of the hollow's edge from side to side; empty where there is none."""
        if not self:
            return (), ()
        x = self.radius * np.sin(np.linspace(-pi / 2, pi / 2, 61))
        return x, -self.below(x)


@dataclass(frozen=True)
class CraterSection:
    """Sizes of a crater's section in the shown unit; a bowl is false where there is none."""

    melted: Bowl
    crater: Bowl
    hardened: Bowl
    softened: Bowl
    source_radius: float
    gap: float
    unit: str
    undrawn_share: float

    @property
    def bowls(self):
        """The bowls that are there, by trace, from the outermost to the innermost."""
        bowls = {SOFTENED: self.softened, HARDENED: self.hardened, MELTED: self.melted,
                 CRATER: self.crater}  # fmt: skip
        return {trace: bowl for trace, bowl in bowls.items() if bowl}

    @property
    def size(self):
        """What the scale must hold: the widest half, or the deepest line."""
        wide = [1.1 * r for r in (self.source_radius, *(b.radius for b in self.bowls.values()))]
        return max(*wide, *(b.depth / _DEEPEST for b in self.bowls.values()))


def crater_section(burn, per_um=1.0, unit="µm"):
    """Return the section of the crater of one spark of a burn.

    Parameters
    ----------
    burn : Burn
        At one setting.
    per_um : float
        How many of the shown unit make a micrometre.
    unit : str
        Name of the shown unit.

    Returns
    -------
    CraterSection
        ``melted`` is false where nothing melts.

    Raises
    ------
    Refusal
        If the burn is of many settings.
    """
    if burn.shape != ():
        raise Refusal(f"settings must be one setting for a picture of a crater, got {burn.shape}: "
                      "pick one of them.")  # fmt: skip
    point = burn.point
    reach = source_radius(point.spark_current, point.discharge_duration)
    return section_of(point.crater, reach, float(burn.gap_front_um.likely), per_um, unit)


def section_of(found, source_radius, gap_um, per_um=1.0, unit="µm"):
    """Return the section of the crater of one spark.

    Parameters
    ----------
    found : Crater
        What it melts [m, m, m³].
    source_radius, gap_um : float
        Radius of the heat source [m], gap in front of the electrode [µm].
    per_um, unit : float, str
        How many of the shown unit make a micrometre, and its name.

    Returns
    -------
    CraterSection

    Notes
    -----
    The melt goes through its radius, depth and volume: V = pi r² d n / (n + 2); the other lines
    through theirs, with the same n. Where so little melts that no such shape holds the volume,
    ``undrawn_share`` says how much of it is missing. One spark: its neighbours are left out.
    """
    radius, depth, volume = (float(v) for v in (found.radius, found.depth, found.volume))
    full = volume / (pi * radius**2 * depth) if radius > 0 and depth > 0 else 0.5
    drawn = min(full, _FULLEST)
    steepness = 2 * drawn / (1 - drawn)

    def bowl(wide, deep):
        return Bowl(float(wide) / um * per_um, float(deep) / um * per_um, steepness)

    return CraterSection(
        bowl(radius, depth),
        bowl(radius, EJECTED_SHARE * depth),
        bowl(found.rehardened_radius, found.rehardened_depth),
        bowl(found.tempered_radius, found.tempered_depth),
        float(source_radius) / um * per_um,
        gap_um * per_um,
        unit,
        1 - drawn / full,
    )


_WORDS = {
    SOFTENED: "softened, to {}",
    HARDENED: "hardened again, to {}",
    MELTED: "melted, to {}",
    CRATER: "crater, {} deep",
}
_PLACES = {SOFTENED: 0.85, HARDENED: 0.65, MELTED: 0.4, CRATER: 0.1}  # of the leaders, over radius


def _words_below(section, scale):
    """Return (foot, head, text, colour) of the words below the surface.

    The further in a line lies, the further right its leader and the higher its words: no leader
    crosses words.
    """
    bowls = section.bowls
    lowest = max(bowl.depth for bowl in bowls.values()) + _FIRST_ROW * scale
    words = []
    for row, (trace, bowl) in enumerate(reversed(bowls.items())):
        x = -_PLACES[trace] * bowl.radius
        text = _WORDS[trace].format(f"{three(bowl.depth)} {section.unit}")
        head = (x, -lowest - row * _ROW * scale)
        words.append(((x, -float(bowl.below(x))), head, text, _COLOURS[trace]))
    return words


def _words_above(section, scale):
    """Return (foot, head, text, colour) of the words above the surface."""
    reach, gap, unit = section.source_radius, section.gap, section.unit
    upper, lower = (_TOP - 0.08) * scale, (_TOP - 0.08 - _ROW) * scale
    spark = f"spark's heat, radius {three(reach)} {unit}"
    words = [((-0.95 * reach, 0.0), (-0.95 * reach, upper), spark, ORANGE)]
    x = -0.6 * reach
    if gap <= _HIGHEST_GAP * scale:
        words.append(((x, gap / 2), (x, lower), f"gap {three(gap)} {unit}, electrode above", INK))
    else:
        words.append((None, (x, lower), f"electrode {three(gap)} {unit} above", INK))
    return words


def _lines(section, scale, words):
    """Return x and y of every trace, in the order of the figure."""
    far, reach, melt = 100 * scale, section.source_radius, section.melted.radius
    fits = section.gap <= _HIGHEST_GAP * scale
    block = [section.gap, section.gap, far, far]
    led = [(foot, head) for foot, head, *_ in words if foot]
    leaders = [place for foot, head in led for place in (foot, head, (None, None))]
    heads = [(x + 0.02 * scale, height) for _, (x, height), *_ in words]
    nothing = ((), ())
    bowls = section.bowls
    return [
        ([-far, far, far, -far], block) if fits else nothing,
        *(bowls[trace].line if trace in bowls else nothing for trace in _WORDS),
        ([-far, -melt, None, melt, far], [0, 0, None, 0, 0]),
        ([-reach, reach], [0, 0]),
        *(tuple(zip(*places, strict=True))
          for places in (leaders, [foot for foot, _ in led], heads)),
    ]  # fmt: skip


def change_crater_section(figure, section):
    """Put another crater into the figure of a crater's section.

    Parameters
    ----------
    figure : plotly.graph_objects.Figure
        From `crater_section_figure`.
    section : CraterSection
        What it becomes; something must melt.

    Raises
    ------
    Refusal
        If nothing melts.
    """
    if not section.melted:
        raise Refusal("crater depth must be above 0 for a picture, got 0: give more current.")
    layout = figure.layout
    old = layout.yaxis.range[1] / _TOP if layout.yaxis.range else None
    scale = steady(section.size, old)
    words = [*_words_below(section, scale), *_words_above(section, scale)]
    with figure.batch_update():
        if scale != old:
            layout.xaxis.range = (-_SIDE * scale, _SIDE * scale)
            layout.yaxis.range = (_BOTTOM * scale, _TOP * scale)
            step = marks(scale)[1]
            layout.xaxis.dtick = layout.yaxis.dtick = step
        layout.xaxis.title.text = f"{section.unit}, same scale both ways"
        for trace, (x, y) in zip(figure.data, _lines(section, scale, words), strict=True):
            trace.x, trace.y = x, y
        labels = figure.data[LABELS]
        labels.text, labels.textfont.color = zip(*(word[2:] for word in words), strict=True)


def crater_section_figure(section):
    """Return a figure of a crater's section, x and height to the same scale.

    Parameters
    ----------
    section : CraterSection
        From `crater_section`; something must melt.

    Returns
    -------
    plotly.graph_objects.Figure
        Traces in the order of `ELECTRODE` to `LABELS`; change it by `change_crater_section`.
    """
    import plotly.graph_objects as go

    styles = {
        ELECTRODE: {"fill": "toself", "fillcolor": "#e8d9c5", "line": {"color": INK, "width": 2}},
        SOFTENED: {"line": {"color": GREEN, "width": 2.5, "dash": "dashdot"}},
        HARDENED: {"line": {"color": BLUE, "width": 2.5, "dash": "dash"}},
        MELTED: {"line": {"color": ORANGE, "width": 2.5}, "fill": "toself",
                 "fillcolor": "#f6c7a3"},
        CRATER: {"line": {"color": INK, "width": 2.5}, "fill": "toself", "fillcolor": "white"},
        SURFACE: {"line": {"color": INK, "width": 2.5}},
        SOURCE: {"line": {"color": ORANGE, "width": 5, "dash": "dot"}},
        LEADERS: {"line": {"color": INK, "width": 1}},
        DOTS: {"mode": "markers", "marker": {"size": 7, "color": INK}},
        LABELS: {"mode": "text", "textposition": "middle right", "textfont": {"size": 13}},
    }  # fmt: skip
    figure = go.Figure([{"type": "scatter", "mode": "lines", "hoverinfo": "skip", **styles[trace]}
                        for trace in range(len(styles))])  # fmt: skip
    metal = {"type": "rect", "xref": "paper", "x0": 0, "x1": 1, "y0": -1e6, "y1": 0,
             "layer": "below", "line": {"width": 0}, "fillcolor": "#e9ecef"}  # fmt: skip
    # A fixed size: plotly's own equal scales grow with each change of width and stay grown.
    figure.update_layout(LAYOUT, showlegend=False, shapes=[metal], autosize=False)
    figure.update_layout(width=_WIDTH, height=_HEIGHT, margin=_MARGIN)
    figure.update_xaxes(AXIS, showgrid=False)
    figure.update_yaxes(AXIS, showgrid=False)
    change_crater_section(figure, section)
    return figure
