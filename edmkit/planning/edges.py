"""Straight and round edges of a section, as points of the complex plane; lengths in any one unit.

x runs along a roller's axis, y across it, and the crown is at 0. A *level* is where the sag is
even: a circle around the crown (``around``), or else a line along the axis. Edges answer as
whole lines and circles where that does no harm: a place too many only splits an integral.
"""

from dataclasses import dataclass, replace

import numpy as np


@dataclass(frozen=True)
class Line:
    """A straight edge from ``start`` to ``end``."""

    start: complex
    end: complex

    @property
    def length(self):
        """Length of the edge."""
        return abs(self.end - self.start)

    def at(self, share):
        """Return the points at shares 0 to 1 of the edge."""
        return self.start + np.asarray(share) * (self.end - self.start)

    def share(self, points):
        """Return where points of the edge lie on it, 0 to 1."""
        along = self.end - self.start
        return np.real((points - self.start) * np.conj(along)) / abs(along) ** 2

    def moved(self, turn, shift):
        """Return the edge turned about 0, then shifted."""
        return Line(self.start * turn + shift, self.end * turn + shift)

    def turning(self, around):
        """Return the points between which the level only rises or only falls."""
        along = (self.end - self.start) / self.length
        if around:
            return np.array([self._foot(along)])
        level = abs(along.imag) < 1e-12
        return np.array([]) if level else np.array([self._at_height(0.0)])

    def crossings(self, level, around):
        """Return where the edge's line crosses levels: angles (``around``) or places x."""
        along = (self.end - self.start) / self.length
        if not around:
            flat = abs(along.imag) < 1e-12
            return [np.full_like(level, self.start.real) if flat else self._at_height(level).real]
        foot = self._foot(along)
        half = np.sqrt(np.maximum(level**2 - abs(foot) ** 2, 0)) * along
        return [np.angle(foot + half), np.angle(foot - half)]

    def _foot(self, along):
        """Return the point of the line nearest the crown."""
        return self.start - np.real(self.start * np.conj(along)) * along

    def _at_height(self, y):
        """Return the points of the line at heights y."""
        along = self.end - self.start
        return self.start + (y - self.start.imag) / along.imag * along


@dataclass(frozen=True)
class Arc:
    """A round edge about ``centre``, from the angle ``start`` through ``sweep`` [rad]."""

    centre: complex
    radius: float
    start: float = 0.0
    sweep: float = 2 * np.pi

    @property
    def length(self):
        """Length of the edge."""
        return abs(self.radius * self.sweep)

    def at(self, share):
        """Return the points at shares 0 to 1 of the edge."""
        return self.centre + self.radius * np.exp(
            1j * (self.start + np.asarray(share) * self.sweep)
        )

    def share(self, points):
        """Return where points of the circle lie on the edge, 0 to 1, above 1 outside it."""
        turned = (np.angle(points - self.centre) - self.start) * np.sign(self.sweep)
        return np.mod(turned, 2 * np.pi) / abs(self.sweep)

    def moved(self, turn, shift):
        """Return the edge turned about 0, then shifted."""
        centre, start = self.centre * turn + shift, self.start + np.angle(turn)
        return replace(self, centre=centre, start=start)

    def turning(self, around):
        """Return the points between which the level only rises or only falls."""
        if around:
            out = self.centre / abs(self.centre) if self.centre else 1.0
            return self.centre + self.radius * np.array([out, -out])
        points = self.centre + self.radius * np.array([1j, -1j])
        half = self.radius**2 - self.centre.imag**2
        on_axis = self.centre.real + np.sqrt(max(half, 0.0)) * np.array([1, -1])
        return np.concatenate([points, on_axis]) if half > 0 else points

    def crossings(self, level, around):
        """Return where the edge's circle crosses levels: angles (``around``) or places x."""
        if not around:
            half = np.sqrt(np.maximum(self.radius**2 - (level - self.centre.imag) ** 2, 0))
            return [self.centre.real + half, self.centre.real - half]
        away = max(abs(self.centre), 1e-300)
        cosine = (level**2 + away**2 - self.radius**2) / np.maximum(2 * level * away, 1e-300)
        half, middle = np.arccos(np.clip(cosine, -1, 1)), np.angle(self.centre)
        return [np.angle(np.exp(1j * (middle + half))), np.angle(np.exp(1j * (middle - half)))]


def meetings(one, other):
    """Return the points where the lines or circles of two edges meet, as an array."""
    if isinstance(one, Arc) and isinstance(other, Line):
        one, other = other, one
    if isinstance(one, Line) and isinstance(other, Line):
        a, b = one.end - one.start, other.end - other.start
        cross = np.imag(np.conj(a) * b)
        if abs(cross) < 1e-12 * abs(a) * abs(b):
            return np.array([])
        return np.array([one.start + np.imag(np.conj(other.start - one.start) * b) / cross * a])
    if isinstance(one, Line):
        along = (one.end - one.start) / one.length
        foot = one.moved(1, -other.centre)._foot(along)
        return other.centre + _chord(foot, along, other.radius**2 - abs(foot) ** 2)
    apart = other.centre - one.centre
    if abs(apart) < 1e-12:
        return np.array([])
    foot = (abs(apart) ** 2 + one.radius**2 - other.radius**2) / (2 * abs(apart))
    along = apart / abs(apart)
    return one.centre + _chord(foot * along, 1j * along, one.radius**2 - foot**2)


def _chord(foot, along, half2):
    """Return both ends of a chord; none where it misses the circle."""
    return foot + np.sqrt(half2) * along * np.array([1, -1]) if half2 >= 0 else np.array([])


def outline(edges, points):
    """Return a closed outline as points x, y in rows; a whole circle gets ``points`` of them."""
    pieces = [
        edge.at(np.linspace(0, 1, 1 + _cuts(edge, points))[:-1] if _cuts(edge, points) else [0.0])
        for edge in edges
    ]
    loop = np.concatenate([*pieces, pieces[0][:1]])
    return np.column_stack([loop.real, loop.imag])


def _cuts(edge, points):
    return int(np.ceil(points * abs(edge.sweep) / (2 * np.pi))) if isinstance(edge, Arc) else 1
