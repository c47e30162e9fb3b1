"""Settings that must stand in an order, and what the one that is not written becomes."""

import pytest

from analysis import Circuit
from analysis.errors import CircuitError
from analysis.resolved import resolve_element
from analysis.setting_order import _PROPORTION
from analysis.values import default_of
from symbols import KINDS


@pytest.mark.parametrize(
    ("kind", "lesser", "greater"),
    [
        ("cylinder", "rod_diameter", "bore"),
        ("cylinder_double_rod", "rod_diameter", "bore"),
        ("compensated_pump", "knee_pressure", "cutoff_pressure"),
        ("unloading_valve", "cut_in_pressure", "cut_out_pressure"),
    ],
)
def test_the_one_that_is_not_written_follows_the_other(kind, lesser, greater):
    """Half the bore gives half the rod; the catalogue's own defaults keep the proportion."""
    settings = KINDS[kind].settings
    low, high = default_of(settings[lesser]), default_of(settings[greater])
    assert low / high == pytest.approx(_PROPORTION[lesser])
    unit = "m" if lesser == "rod_diameter" else "Pa"
    circuit = Circuit()
    part = circuit.add(kind, **{greater: f"{high / 4} {unit}"})
    assert resolve_element(part).settings[lesser] == pytest.approx(low / 4)
    part = circuit.add(kind, **{lesser: f"{low * 3} {unit}"})
    assert resolve_element(part).settings[greater] == pytest.approx(high * 3)


def test_both_written_must_be_in_order():
    """A rod as thick as its bore is refused."""
    with pytest.raises(CircuitError, match="rod_diameter"):
        Circuit().add("cylinder", bore="1 in", rod_diameter="1 in")


@pytest.mark.parametrize(
    ("written", "volume", "reserve"),
    [
        ({}, 8e-3, 2e-3),
        ({"capacity": "20 L"}, 8e-3, 2e-3),
        ({"capacity": "2 L"}, 1.6e-3, 0.4e-3),
        ({"capacity": "2 L", "volume": "1 L", "reserve": "0.5 L"}, 1e-3, 0.5e-3),
    ],
)
def test_a_small_reservoir_holds_no_more_than_its_capacity(written, volume, reserve):
    """And its standpipe is covered: the proportions of the catalogue's defaults."""
    found = resolve_element(Circuit().add("reservoir", **written))
    assert found.state["volume"] == pytest.approx(volume)
    assert found.settings["reserve"] == pytest.approx(reserve)
