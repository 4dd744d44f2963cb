"""Pin gauges and the two-ball taper, against a trade page and against geometry."""

import math

import pytest
from numpy.testing import assert_allclose

from edmkit import Refusal
from edmkit.planning.inspection import (
    PIN_CLASSES,
    pin_gauge,
    pin_reads_under_mm,
    two_ball_half_angle,
)


def test_pin_classes():
    # trade page on pin gauges: 0.0002, 0.0001, 0.00004, 0.00002 in; class Y from memory
    for grade, inches in (("ZZ", 2e-4), ("Z", 1e-4), ("X", 4e-5), ("XX", 2e-5), ("Y", 7e-5)):
        assert_allclose(PIN_CLASSES[grade], inches * 25.4, rtol=0.03)


def test_the_class_a_tolerance_asks_for():
    # same page: a tenth of the part's tolerance
    made = pin_gauge(3.05, 0.0, 0.06)
    assert (made.go_mm, made.grade) == (3.05, "ZZ") and made.no_go_mm == pytest.approx(3.11)
    assert pin_gauge(5.0, 0.015, 0.015).grade == "Z"
    assert pin_gauge(5.0, 0.005, 0.005).grade == "X"
    tighter = [pin_gauge(5.0, t, t).tolerance_mm for t in (0.03, 0.015, 0.008, 0.004)]
    assert tighter == sorted(tighter, reverse=True)


def test_a_pin_rides_on_the_peaks():
    assert_allclose(pin_reads_under_mm(0.016), 0.016)  # Ra 3.2, Rz 16: about 0.016 on diameter
    assert pin_reads_under_mm([0.0, 0.01]).shape == (2,)


def test_the_taper_from_two_balls():
    # a cone of 3 degrees: a ball touches it where its centre stands r / sin above the apex
    half = math.radians(3.0)
    small, large = 4.0, 5.0
    apart = (large - small) / 2 / math.sin(half)
    assert_allclose(
        two_ball_half_angle(small, large, 12.0, 12.0 + small / 2 - large / 2 - apart), 3
    )
    assert two_ball_half_angle(4.0, 4.0, 12.0, 2.0) == 0


@pytest.mark.parametrize(
    "make, said",
    [
        (lambda: pin_gauge(3, 0.001, 0.001), "size tolerance must be at least 0.005 mm"),
        (lambda: pin_gauge("3,05", 0, 0.1), "write 3.05"),
        (lambda: two_ball_half_angle(5, 4, 12, 2), "large_mm must be .* larger lies above"),
        (lambda: two_ball_half_angle(4, 5, 2, 2), "must be more than 0.5 mm apart"),
        (lambda: pin_reads_under_mm(-1), "roughness_Rz_mm must be"),
    ],
)
def test_refusals(make, said):
    with pytest.raises(Refusal, match=said):
        make()
