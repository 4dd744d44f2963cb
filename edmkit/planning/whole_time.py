"""The whole time of a feature at many settings at once, for the finder to rank by."""

from functools import partial

import numpy as np

from edmkit.estimate import Estimate
from edmkit.planning.dressing import Batch


def minutes_of(feature, section=None, batch=None):
    """Return what `find_settings` ranks a feature by: a function of a `Burn`, minutes a hole.

    Parameters
    ----------
    feature : Feature
        The hole in its face.
    section : Shape or None
        The electrode; None takes the hole's own shape.
    batch : Batch or None
        How many, how far an edge may wear, minutes to set a part and to dress an end.

    Notes
    -----
    Burning to depth at one setting, lifts included, and a hole's share of setting the parts and
    of the dressings that the wear asks for; where there is no wear figure no dressing is counted.
    The slower start on a curved face is left out.
    """
    end = feature.shape if section is None else section
    volume = float(feature.removed_volume_mm3(feature.depth_mm - feature.first_contact_mm()))
    return partial(_minutes, volume, float(end.area_mm2), batch or Batch())


def _minutes(volume_mm3, section_mm2, batch, burn):
    burning = burn.minutes(volume_mm3)
    setting = batch.parts * (batch.load_min + batch.drain_min) / batch.count
    dressing = _dressings(batch, burn.end_wear_mm(volume_mm3, section_mm2).likely)
    whole = burning.likely + setting + dressing * batch.dress_min / batch.count
    return Estimate(whole, burning.spread * burning.likely / whole)


def _dressings(batch, end_wear_mm):
    """Return how often the batch is dressed (array in, array out)."""
    if batch.corner_max_mm is None:
        return np.zeros(np.shape(end_wear_mm))
    with np.errstate(divide="ignore", invalid="ignore"):
        holes = np.floor(batch.corner_max_mm / (batch.corner_per_wear * end_wear_mm) * (1 + 1e-9))
    after = np.clip(np.nan_to_num(holes, nan=batch.count, posinf=batch.count), 1, batch.count)
    return np.ceil(batch.count / after) - 1
