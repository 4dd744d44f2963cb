"""The controls of a relaxation circuit."""

import pytest

import edmkit as ek
from edmkit.panels.circuit_controls import CircuitControls


def test_the_circuit_is_what_stands_there():
    controls = CircuitControls()
    controls.resistance.value, controls.capacitance.value = 47, 10
    controls.supply.value, controls.fires.value = 200.0, 0.8
    controls.inductance.type("2")
    assert controls.circuit == ek.Relaxation(47, 10, 200, 2, 160)
    controls.fires.value = 0.0
    assert controls.circuit.breakdown_V is None
    assert "143 V" in controls.fires._shown.value  # 0.715 of 200


def test_takes_what_is_nearest_and_keeps_quiet():
    controls, told = CircuitControls(), []
    controls.on_change(lambda: told.append(1))
    controls.take(ek.Relaxation(51, 9, 203, breakdown_V=150))
    assert controls.circuit == ek.Relaxation(47, 10, 200, 1, 160)
    assert ek.Relaxation(**controls.values) == controls.circuit
    assert not told
    controls.supply.step(1)
    assert told == [1]


def test_a_wrong_number_is_answered_beside_it():
    controls = CircuitControls()
    controls.inductance.type("long")
    assert controls.wrong
    assert "inductance of the leads must be" in controls.inductance.complaint
    with pytest.raises(ek.Refusal):
        controls.take(ek.Relaxation(51, 9, 203, breakdown_V=250))
