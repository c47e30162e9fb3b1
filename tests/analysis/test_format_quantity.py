"""Numbers as they are shown: significant digits, and nothing below what can be measured."""

import pytest

from analysis import Circuit
from analysis.errors import QuantityError
from analysis.quantities import LEAST_SHOWN, format_quantity, in_unit, parse_quantity
from editor.unit_presets import DisplayUnits


@pytest.mark.parametrize("unit", ["psi", "bar", "MPa", "Pa", "kgf/cm^2"])
@pytest.mark.parametrize("value", [7e-7, -7e-7, 0.0, -0.0, 0.04, -0.04])
def test_what_rounding_makes_of_a_pressure_reads_zero(value, unit):
    """Hundredths of a pascal are no pressure in any unit, and zero has no sign."""
    assert format_quantity(value, unit, "pressure") == f"0 {unit}"


@pytest.mark.parametrize(
    ("value", "unit", "dimension", "text"),
    [
        (6894757.29, "psi", "pressure", "1000 psi"),
        (8.1e8, "psi", "pressure", "117500 psi"),
        (1234567.0, "Pa", "pressure", "1235000 Pa"),
        (-689.4757, "psi", "pressure", "-0.1 psi"),
        (12.34, "psi", "pressure", "0.0018 psi"),
        (1e-4, "gal/min", "flow", "1.585 gal/min"),
        (3e-9, "gal/min", "flow", "0.00005 gal/min"),
        (2.8e-10, "gal/min", "flow", "0 gal/min"),
        (-0.0002, "lbf", "force", "0 lbf"),
        (1.5e-6, "mm", "length", "0.0015 mm"),
        (1.234567e-4, "m^3", "volume", "0.0001235 m^3"),
        (1.2e-7, "m^3/rad", "displacement", "0.00000012 m^3/rad"),
        (288.15, "degC", "temperature", "15 degC"),
        (273.15, "degC", "temperature", "0 degC"),
    ],
)
def test_numbers_as_an_engineer_writes_them(value, unit, dimension, text):
    """Four digits, no powers of ten, and decimals only as far as they mean something."""
    assert format_quantity(value, unit, dimension) == text


@pytest.mark.parametrize("dimension", LEAST_SHOWN)
def test_what_is_shown_is_as_near_as_its_digits(dimension):
    """The text of a value is within half of its last digit, or of what is worth showing."""
    units = DisplayUnits(Circuit())
    for power in range(-12, 9):
        for sign in (1, -1):
            value = sign * 1.23456 * 10.0**power
            shown = in_unit(value, units.unit(dimension), dimension)
            step = in_unit(10 * LEAST_SHOWN[dimension], units.unit(dimension), dimension)
            text = units.number(value, dimension)
            assert abs(float(text) - shown) <= max(6e-4 * abs(shown), 0.5 * step)
            assert "e" not in text


def test_a_bare_number_has_no_unit():
    """A ratio is shown as it is."""
    units = DisplayUnits(Circuit())
    assert units.number(0.5, "number") == units.format(0.5, "number") == "0.5"


@pytest.mark.parametrize(
    ("text", "mend"),
    [
        ("1000 PSI", "write psi"),
        ("10 GPM", "write gpm"),
        ("10 Bar", "write bar"),
        ("10 bara", "pressures are gauge: write bar"),
        ("2 inchworms", "write one like psi or gal/min"),
    ],
)
def test_a_unit_that_there_is_not_is_refused_with_what_to_write(text, mend):
    """Capitals are told apart, since mPa is no MPa; the message says how it is spelt."""
    with pytest.raises(QuantityError, match=f"not a known unit; {mend}$"):
        parse_quantity(text, "pressure")
