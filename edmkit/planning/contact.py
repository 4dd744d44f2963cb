"""How much of a flat end touches a curved face: plain geometry, lengths in any one unit.

The crown is the face's highest point, the sag of a place is how far it lies below the crown.
Depth counts from first contact. Area and rim are as seen along the electrode; the rim is the
whole edge of the patch in contact, a bore's edge with it, as debris can leave over both.
"""

from dataclasses import dataclass

import numpy as np

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)


@dataclass(frozen=True)
class Contact:
    """What is engaged: area [length²], rim [length], volume removed so far [length³]."""

    area: np.ndarray
    rim: np.ndarray
    volume: np.ndarray


def sag(distance, radius):
    """Return how far a ball or roller falls away below its crown [length].

    Parameters
    ----------
    distance : float or array
        From the axis through the crown, at most ``radius`` [length].
    radius : float or array
        Of the ball or roller [length].

    Notes
    -----
    Exact. Written without the difference of near-equal numbers, so that a nearly flat face
    keeps its digits. Derived here.
    """
    distance, radius = np.asarray(distance, float), np.asarray(radius, float)
    return (distance**2 / (radius + np.sqrt(radius**2 - distance**2)))[()]


def ring_on_ball(depth, outer, inner, radius):
    """Return the Contact of a ring sunk centrally into a ball [length and its powers].

    Parameters
    ----------
    depth : float or array
        Below first contact, which is at the ring's inner edge [length].
    outer, inner : float or array
        Radii of the ring [length]; inner 0 is a disc.
    radius : float or array
        Of the ball [length].

    Notes
    -----
    Exact for a flat unworn end that has not come out on the far side. Volume: the spherical
    cap without its core, then a prism. Derived here; the cap is textbook geometry.
    """
    depth, outer, inner, radius = (np.asarray(x, float) for x in (depth, outer, inner, radius))
    centre = np.sqrt(radius**2 - inner**2)  # from first contact down to the ball's centre
    width2 = (outer - inner) * (outer + inner)
    curved = np.minimum(depth, width2 / (centre + np.sqrt(radius**2 - outer**2)))
    grown = curved * (2 * centre - curved)  # the contact circle's radius² - inner²
    rim = 2 * np.pi * (np.sqrt(inner**2 + grown) + inner)
    volume = np.pi * (curved**2 * (centre - curved / 3) + width2 * (depth - curved))
    return Contact((np.pi * grown)[()], rim[()], volume[()])


def ring_on_roller(depth, outer, inner, radius):
    """Return the Contact of a ring sunk across the middle of a roller [length and its powers].

    Parameters
    ----------
    depth : float or array
        Below the crown line, where the ring's metal first touches [length].
    outer, inner : float or array
        Radii of the ring [length]; inner 0 is a disc.
    radius : float or array
        Of the roller [length].

    Notes
    -----
    As ``ring_on_ball``; the patch is the middle strip of the ring. The volume is a Gauss sum,
    good to 1e-10: the elliptic integrals lose their digits at small depth. Derived here.
    """
    depth, outer, inner, radius = (np.asarray(x, float) for x in (depth, outer, inner, radius))
    curved = np.minimum(depth, sag(outer, radius))
    half_width = np.sqrt(curved * (2 * radius - curved))
    area, arcs, sides = _strip_in_disc(half_width, outer)
    bore_area, bore_arcs, bore_sides = _strip_in_disc(half_width, inner)
    rim = arcs + bore_arcs + sides - bore_sides  # the bore cuts a piece out of the long sides
    volume = _disc_on_roller(depth, outer, radius) - _disc_on_roller(depth, inner, radius)
    return Contact((area - bore_area)[()], rim[()], volume[()])


def _strip_in_disc(half_width, disc):
    """Return area, arcs and straight sides of the middle strip of a disc of radius ``disc``."""
    half_width = np.minimum(half_width, disc)  # a wider strip holds the whole disc
    half_chord = np.sqrt((disc - half_width) * (disc + half_width))
    angle = np.arctan2(half_width, half_chord)  # not arcsin: holds for a disc of radius 0
    area = 2 * (half_width * half_chord + disc**2 * angle)
    return area, 4 * disc * angle, 4 * half_chord


def _disc_on_roller(depth, disc, radius):
    """Return the volume a disc removes: slices across the strip, y = disc x sin(angle)."""
    curved = np.minimum(depth, sag(disc, radius))
    width2 = np.minimum(curved * (2 * radius - curved), disc**2)  # minimum: rounding alone
    half_angle = np.arctan2(np.sqrt(width2), np.sqrt(disc**2 - width2)) / 2
    angle = half_angle[..., None] * (1 + _NODES)
    across2 = (disc[..., None] * np.sin(angle)) ** 2
    heights = np.sqrt(radius[..., None] ** 2 - across2) + (radius - curved)[..., None]
    slices = (width2[..., None] - across2) * np.cos(angle) ** 2 / heights
    return disc**2 * (4 * half_angle * (slices @ _WEIGHTS) + np.pi * (depth - curved))
