"""Settings that many kinds share, so that each is worded and bounded in one place."""

from __future__ import annotations

from collections.abc import Mapping

from symbols.kind import Setting

Settings = Mapping[str, Setting]

OPERATORS = ("lever", "push_button", "pedal", "solenoid", "pilot", "roller")

FRICTION = Setting("Friction", "force", "0 N", minimum="0 N")
LOAD = Setting("Load against extension", "force", "0 N", table=True)
LOAD_TORQUE = Setting("Load torque", "torque", "0 N*m", minimum="0 N*m")

LEAK: Settings = {
    "leak_diameter": Setting("Leak diameter", "length", "0.5 mm", positive=True),
}
"""For every kind that has a leak among its failure modes."""

DRIVE: Settings = {
    "drive": Setting("Driven by", "text", None, optional=True),
}

SEALS: Settings = {
    "seals": Setting(
        "Seals of",
        "choice",
        "not given",
        choices=("not given", "natural rubber", "nitrile", "neoprene", "butyl", "EPDM"),
    ),
}
"""The material of a part's seals, for the rule on seals and fluids; no law looks at it."""


def sized(title: str, dimension: str, default: str) -> Setting:
    """A setting that must be above zero."""
    return Setting(title, dimension, default, positive=True)


def not_negative(title: str, dimension: str, default: str, zero: str) -> Setting:
    """A setting that may be zero but not below; `zero` is written with its unit."""
    return Setting(title, dimension, default, minimum=zero)


def efficiency(default: float) -> Setting:
    """Volumetric efficiency at rated pressure, above 0 and at most 1."""
    return Setting("Volumetric efficiency", "number", default, maximum=1.0, positive=True)


def rated(flow: str, drop: str) -> Settings:
    """The flow that costs the drop, as of a fully open valve path."""
    return {
        "rated_flow": sized("Rated flow", "flow", flow),
        "rated_drop": sized("Pressure drop at rated flow", "pressure", drop),
    }


def orifice(diameter: str) -> Settings:
    """A sharp-edged orifice; rated flow and drop, if both given, stand in its place.

    The discharge coefficient 0.61 is that of a sharp-edged orifice at high Reynolds
    number (ISO 5167-2, from memory).
    """
    return {
        "diameter": sized("Orifice diameter", "length", diameter),
        "discharge_coefficient": Setting(
            "Discharge coefficient", "number", 0.61, maximum=1.0, positive=True
        ),
        "rated_flow": Setting("Rated flow", "flow", None, positive=True, optional=True),
        "rated_drop": Setting(
            "Pressure drop at rated flow", "pressure", None, positive=True, optional=True
        ),
    }


def operation(default: str) -> Settings:
    """Who or what works a directional or shut-off valve."""
    return {
        "operator": Setting("Operator", "choice", default, choices=OPERATORS),
        "tripped_by": Setting("Tripped by (a cylinder's id)", "text", None, optional=True),
        "trips_at": Setting("Trips at extension", "length", None, minimum="0 mm", optional=True),
        **DRIVE,
    }


def position(default: str, choices: tuple[str, ...]) -> Settings:
    """The position in which a valve stands, its choices in the order of the boxes."""
    return {"position": Setting("Position", "choice", default, choices=choices)}
