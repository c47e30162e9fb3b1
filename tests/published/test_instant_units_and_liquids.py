"""Units and liquids against published values."""

from __future__ import annotations

import pytest
from chemicals import viscosity_index

from analysis.liquids import LIQUIDS, liquid
from analysis.quantities import parse_quantity


def celsius(degrees: float) -> float:
    """In kelvin."""
    return degrees + 273.15


@pytest.mark.parametrize(
    ("text", "dimension", "si"),
    [
        # NIST SP 811, appendix B.8 (from memory)
        ("1 gal/min", "flow", 3.785411784e-3 / 60),
        ("1 imp_gal", "volume", 4.54609e-3),
        ("1 psi", "pressure", 6894.757293168361),
        ("1 lbf", "force", 4.4482216152605),
        ("1 bar", "pressure", 1e5),
        ("1/4 in", "length", 0.00635),
        ("1 1/2 in", "length", 0.0381),
        ("6 ft", "length", 1.8288),
        ("1 in^3/rev", "displacement", 0.0254**3 / 6.283185307179586),
        ("3000 rpm", "speed", 314.1592653589793),
        ("30 strokes/min", "rate", 0.5),
        ("15 degC", "temperature", 288.15),
        ("59 degF", "temperature", 288.15),
    ],
)
def test_units_have_their_published_factors(text: str, dimension: str, si: float) -> None:
    """A quantity as people write it has the SI value of the published factor."""
    assert parse_quantity(text, dimension) == pytest.approx(si, rel=1e-12)


@pytest.mark.parametrize(
    ("name", "degrees", "least", "most"),
    [
        # MIL-PRF-5606H table I (from memory)
        ("MIL-PRF-5606", 100, 4.90, None),
        ("MIL-PRF-5606", 40, 13.2, None),
        ("MIL-PRF-5606", -40, None, 600),
        ("MIL-PRF-5606", -54, None, 2500),
        # MIL-PRF-83282D (from memory)
        ("MIL-PRF-83282", 100, 3.45, None),
        ("MIL-PRF-83282", 40, 14.0, None),
        ("MIL-PRF-83282", -40, None, 2200),
    ],
)
def test_viscosity_keeps_to_the_specification(
    name: str, degrees: float, least: float | None, most: float | None
) -> None:
    """Kinematic viscosity in mm2/s stays within the table's bounds, to its printed digits."""
    viscosity = liquid(name, celsius(degrees)).viscosity * 1e6
    assert least is None or viscosity >= least * 0.999
    assert most is None or viscosity <= most * 1.001


@pytest.mark.parametrize("grade", [10, 15, 22, 32, 46, 68])
def test_viscosity_grades_meet_their_mid_points(grade: int) -> None:
    """At 40 degC a grade lies within 10 % of its mid-point: ISO 3448."""
    viscosity = liquid(f"ISO VG {grade}", celsius(40)).viscosity * 1e6
    assert viscosity == pytest.approx(grade, rel=0.10)


@pytest.mark.parametrize("name", LIQUIDS)
def test_viscosity_follows_the_walther_form(name: str) -> None:
    """log log (v + 0.7) falls straight with log T between 40 and 100 degC: ASTM D341."""
    from math import log10

    def double_log(degrees: float) -> float:
        return log10(log10(liquid(name, celsius(degrees)).viscosity * 1e6 + 0.7))

    low, middle, high = (log10(celsius(d)) for d in (40, 70, 100))
    share = (middle - low) / (high - low)
    straight = double_log(40) + share * (double_log(100) - double_log(40))
    assert double_log(70) == pytest.approx(straight, abs=1e-9)


@pytest.mark.parametrize("grade", [15, 22, 32, 46, 68])
def test_viscosity_index_is_that_of_a_mineral_oil(grade: int) -> None:
    """ASTM D2270 by way of `chemicals`: straight mineral hydraulic oils lie near 100.

    The band of 85 to 115 for them is common practice.
    """
    nu_40 = liquid(f"ISO VG {grade}", celsius(40)).viscosity
    nu_100 = liquid(f"ISO VG {grade}", celsius(100)).viscosity
    assert 85 <= viscosity_index(nu_40, nu_100) <= 115


@pytest.mark.parametrize("name", ["MIL-PRF-5606", "MIL-PRF-83282"])
def test_aircraft_fluid_is_as_stiff_as_specified(name: str) -> None:
    """Isothermal secant bulk modulus at 40 degC is 200 000 psi or more.

    MIL-PRF-5606H and MIL-PRF-83282D (from memory).
    """
    assert liquid(name, celsius(40)).bulk_modulus >= 200_000 * 6894.757 * (1 - 1e-6)
