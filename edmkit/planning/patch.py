"""The patch of any section that touches any face: area, rim and volume, integrated.

A level of the face runs through the section as one or more pieces; their length, summed over
the levels, gives area and volume. Gauss sums run between the levels where that length has a
kink, so a few points are good to eight digits.
"""

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from edmkit.planning.contact import Contact
from edmkit.planning.edges import meetings

_GAUSS, _WEIGHTS = np.polynomial.legendre.leggauss(10)
_U = (1 + _GAUSS) / 2
_STEP = _U**2 * (3 - 2 * _U)  # steps slowly away from both ends, where the length may start as a
_STEP_WEIGHTS = 3 * _WEIGHTS * _U * (1 - _U)  # square root
_EVEN = np.linspace(0, 1, 513)
_FINE = _EVEN**3 * (10 - 15 * _EVEN + 6 * _EVEN**2)  # as _STEP, finer still at the ends
_THIN_MM = 1e-8  # thinner pieces are rounding of the computer


@dataclass(frozen=True)
class Patch:
    """A section on a face, less what is cut away before.

    ``section`` and ``cut_away`` (may be None) are shapes: their ``_loops`` of edges and what
    they hold. ``face`` gives the levels, ``turn`` and ``shift`` (complex) the section's place.
    """

    section: object
    cut_away: object
    face: object
    turn: complex
    shift: complex

    @cached_property
    def levels(self):
        """Levels at which the first and the last metal lies; None where there is no metal."""
        low, high = self._kinks[:-1], self._kinks[1:]
        metal = (self._length((low + high) / 2) > _THIN_MM) & (high - low > _THIN_MM)
        return (float(low[metal][0]), float(high[metal][-1])) if metal.any() else None

    @cached_property
    def sags(self):
        """Sag of the face at first contact and at the last place to touch."""
        first, last = self.levels if self.face.rises else self.levels[::-1]
        return float(self.face.sag(first)), float(self.face.sag(last))

    @property
    def outermost(self):
        """The greatest level that an edge reaches."""
        return float(self._kinks[-1])

    @cached_property
    def area(self):
        """Area of the section where there is metal."""
        return self._sums(np.array([self.levels[1]]))[0][0] if self.levels else 0.0

    def contact(self, depth):
        """Return the Contact at depths below first contact."""
        first, last = self.sags
        depth = np.asarray(depth, float)
        curved = np.minimum(depth, last - first)
        level = np.clip(self.face.level_at(first + curved), *self.levels)
        start, end = self.levels if self.face.rises else self.levels[::-1]
        level = np.where(curved >= last - first, end, np.where(depth > 0, level, start))
        unique, back = np.unique(level, return_inverse=True)
        area, moment = (sums[back].reshape(depth.shape) for sums in self._sums(unique))
        rim = self._rim(unique)[back].reshape(depth.shape)
        return Contact(area[()], rim[()], (area * depth - moment)[()])

    def _sums(self, level):
        """Return area and integral of the sag below first contact, up to each sorted level."""
        low, high = self.levels
        kinks = self._kinks[(self._kinks > low) & (self._kinks < high)]
        breaks = np.unique(np.concatenate([kinks, level, [low, high]]))
        start, width = breaks[:-1, None], np.diff(breaks)[:, None]
        nodes = start + width * _STEP
        slices = self._length(nodes) * width * _STEP_WEIGHTS
        below = self.face.sag(nodes) - self.sags[0]
        found = np.searchsorted(breaks, level)
        return [self._from_first(piece.sum(axis=1))[found] for piece in (slices, slices * below)]

    def _from_first(self, pieces):
        """Return sums from the level of first contact to each break."""
        if self.face.rises:
            return np.concatenate([[0.0], np.cumsum(pieces)])
        return np.concatenate([np.cumsum(pieces[::-1])[::-1], [0.0]])

    def _rim(self, level):
        """Return edges in contact, and the levels' own length where metal lies beyond them."""
        rim = np.zeros_like(level)
        for levels, lengths in self._pieces:
            if levels[-1] - levels[0] < _THIN_MM:  # an edge along a level touches all at once
                reached = levels[0] + (-_THIN_MM if self.face.rises else _THIN_MM)
                inside = (level >= reached) * lengths[-1]
            else:
                inside = np.interp(level, levels, lengths)
            rim += inside if self.face.rises else lengths[-1] - inside
        inner = (level > self.levels[0]) & (level < self.levels[1])
        rim[inner] += self._length(level[inner])
        return rim

    @cached_property
    def _edges(self):
        """Edges of the section, and of what is cut away, in their place."""
        return [
            [edge.moved(self.turn, self.shift) for loop in shape._loops() for edge in loop]
            if shape
            else []
            for shape in (self.section, self.cut_away)
        ]

    @cached_property
    def _kinks(self):
        """Levels, in order, between which the length inside the section has no kink."""
        ends = [edge.at(np.array([0.0, 1.0])) for edges in self._edges for edge in edges]
        turns = [
            _on(edge, edge.turning(self.face.around)) for edges in self._edges for edge in edges
        ]
        met = [_on(one, _on(two, meetings(one, two)))
               for one in self._edges[0] for two in self._edges[1]]  # fmt: skip
        levels = np.sort(self.face.level(np.concatenate([[0.0], *ends, *turns, *met])))
        rounding = 1e-13 * levels[-1]
        levels[levels < rounding] = 0.0
        return levels[np.append(np.diff(levels) > rounding, True)]

    @cached_property
    def _pieces(self):
        """Level and length along each piece of edge whose level only rises or only falls."""
        found = []
        for mine, others in (self._edges, self._edges[::-1]):
            for edge in mine:
                met = [_on(edge, meetings(edge, other)) for other in others]
                points = np.concatenate([_on(edge, edge.turning(self.face.around)), *met])
                shares = np.unique(np.clip([0.0, *edge.share(points), 1.0], 0, 1))
                for low, high in pairwise(shares):
                    if high - low > 1e-9 and self._is_edge(edge, (low + high) / 2, mine):
                        levels = self.face.level(edge.at(low + (high - low) * _FINE))
                        lengths = edge.length * (high - low) * _FINE
                        falls = levels[0] > levels[-1]
                        found.append((levels[::-1], lengths[-1] - lengths[::-1]) if falls
                                     else (levels, lengths))  # fmt: skip
        return found

    def _is_edge(self, edge, share, mine):
        """Return whether metal lies on one side only of an edge of the section or the cut."""
        along = edge.at(share + 1e-6) - edge.at(share - 1e-6)
        sides = edge.at(share) + 1e-6j * along / abs(along) * np.array([1, -1])
        metal = self._metal(sides)
        inside = mine is self._edges[0] or self.section._holds(self._own(sides)).all()
        return bool(inside and metal[0] != metal[1])

    def _own(self, points):
        """Return points as the section itself knows them."""
        return (points - self.shift) * np.conj(self.turn)

    def _metal(self, points):
        """Return whether points lie in the section and not in what is cut away."""
        own = self._own(points)
        metal = self.section._holds(own)
        return metal & ~self.cut_away._holds(own) if self.cut_away else metal

    def _length(self, level):
        """Return how much of each level lies in metal."""
        if self.face.around:
            angles = self._between(level)
            angles = np.concatenate([angles, angles[..., :1] + 2 * np.pi], axis=-1)
            middle, width = _gaps(angles)
            metal = self._metal(level[..., None] * np.exp(1j * middle))
            return level * np.sum(width * metal, axis=-1)
        total = 0.0
        for height in (level, -level):
            middle, width = _gaps(self._between(height))
            total += np.sum(width * self._metal(middle + 1j * height[..., None]), axis=-1)
        return total

    def _between(self, level):
        """Return the places, in order along each level, at which metal may begin or end."""
        edges = self._edges[0] + self._edges[1]
        places = [place for edge in edges for place in edge.crossings(level, self.face.around)]
        return np.sort(np.stack(np.broadcast_arrays(*places), axis=-1), axis=-1)


def _gaps(places):
    """Return middle and width of the gaps between places in order."""
    return (places[..., 1:] + places[..., :-1]) / 2, np.diff(places, axis=-1)


def _on(edge, points):
    """Return those points that lie on an edge, of points on its whole line or circle."""
    share = edge.share(points) if len(points) else points
    return points[(share > -1e-9) & (share < 1 + 1e-9)] if len(points) else np.empty(0, complex)
