"""Rules on reservoirs, suction, line velocity and what the fluid does to seals."""

from __future__ import annotations

import re
from collections.abc import Iterator
from math import pi

from analysis.circuit import Component
from analysis.liquids import LIQUIDS
from analysis.passages import ACTUATORS
from analysis.plumbing import Step
from analysis.resolved import resolve_element
from analysis.rules import Hit, Sight, rule
from analysis.rules_ways import PUMPS
from analysis.words import described, listed

_HANDBOOKS = (
    "US Navy and FAA handbooks (from memory): a standpipe keeps back a reserve that only the "
    "hand or emergency pump can draw"
)
FOOT_PER_SECOND = 0.3048
FASTEST = {"suction": 4 * FOOT_PER_SECOND, "return": 15 * FOOT_PER_SECOND,
           "drain": 15 * FOOT_PER_SECOND, "pressure": 25 * FOOT_PER_SECOND}  # fmt: skip
"""Line role -> upper end of the usual range of velocity [m/s] (published line-sizing guides:
suction 2-4 ft/s, return 10-15, pressure 15-25)."""

DEEPEST_SUCTION = -16.9e3
"""Lowest gauge pressure [Pa] that a pump's inlet should see: 5 inHg below the atmosphere
(pump makers' guides for petroleum fluids, from memory)."""


_EMERGENCY = re.compile(r"\b(emergency|standby|stand-by|auxiliary)\b", re.IGNORECASE)


def _for_emergencies(sight: Sight) -> Iterator[Component]:
    """Hand pumps, and power pumps that are named after their purpose."""
    for pump in sight.of_kind(*PUMPS):
        if pump.kind == "hand_pump" or _EMERGENCY.search(pump.name):
            yield pump


def _drawn_from(sight: Sight, pump: Component) -> set[str]:
    """The reservoir ports that the pump's suction line leads to."""
    region = sight.plumbing.flood([f"{pump.id}.inlet"], _against_flow)
    return {port for port in region if sight.plumbing.kind_at(port) == "reservoir"}


def _against_flow(step: Step) -> bool:
    if step.kind in (*PUMPS, "relief_valve"):
        return False
    return step.kind not in ("check_valve", "filter", "pilot_check_valve") or not step.forward


@rule("warning", _HANDBOOKS, "Let the hand pump draw from the bottom outlet, the reserve.")
def emergency_pump_above_standpipe(sight: Sight) -> Iterator[Hit]:
    """A hand or emergency pump on the standpipe loses its fluid together with the power pump."""
    for pump in _for_emergencies(sight):
        ports = _drawn_from(sight, pump)
        names = {port.rpartition(".")[2] for port in ports}
        if "standpipe" in names and "supply" not in names:
            yield Hit(
                (pump.id, _first_id(ports)),
                f"{described(pump)} draws above the standpipe: of the reserve below it nothing "
                f"is left to pump{' by hand' if pump.kind == 'hand_pump' else ''}.",
            )


@rule("warning", _HANDBOOKS, "Let the power pump draw from the standpipe.")
def reserve_not_kept(sight: Sight) -> Iterator[Hit]:
    """A power pump on the bottom outlet empties the reserve of the hand pump beside it."""
    drawn = {pump.id: _drawn_from(sight, pump) for pump in sight.of_kind(*PUMPS)}
    by_hand = {
        port.rpartition(".")[0]: pump.id
        for pump in _for_emergencies(sight)
        for port in drawn[pump.id]
        if port.endswith(".supply")
    }
    emergency = {pump.id for pump in _for_emergencies(sight)}
    for pump in sight.of_kind("fixed_pump", "compensated_pump"):
        for port in sorted(drawn[pump.id]) if pump.id not in emergency else ():
            reservoir = port.rpartition(".")[0]
            if port.endswith(".supply") and reservoir in by_hand:
                yield Hit(
                    (pump.id, by_hand[reservoir], reservoir),
                    f"{described(pump)} draws from the bottom of "
                    f"{described(sight.circuit.components[reservoir])}: after a leak it pumps away "
                    f"what {by_hand[reservoir]} would need.",
                    "note",
                )


def _first_id(ports: set[str]) -> str:
    return min(port.rpartition(".")[0] for port in ports)


@rule(
    "warning",
    "common practice; volumes from statics",
    "Fit a larger reservoir, or fill it to a level that leaves room for both ends of the travel.",
)
def reservoir_too_small(sight: Sight) -> Iterator[Hit]:
    """The level falls as rods go out and rises as they come in: both must fit."""
    for reservoir in sight.of_kind("reservoir"):
        rise, fall = _level_changes(sight, reservoir)
        values = resolve_element(reservoir)
        volume, capacity = float(values.state["volume"]), float(values.settings["capacity"])
        if volume - fall < 0.0:
            yield Hit(
                (reservoir.id,),
                f"{described(reservoir)} runs dry when all its actuators are moved out: they take "
                f"{fall * 1e3:.2f} L more than they give back, and it holds {volume * 1e3:.2f} L.",
            )
        if volume + rise > capacity * 1.0001:
            yield Hit(
                (reservoir.id,),
                f"{described(reservoir)} overflows when all its actuators are moved in: they give "
                f"back {rise * 1e3:.2f} L, and it has room for {(capacity - volume) * 1e3:.2f} L.",
            )


def _level_changes(sight: Sight, reservoir: Component) -> tuple[float, float]:
    """(rise, fall) of the reservoir's content [m3]: all its cylinders home, all out."""
    ends = [f"{reservoir.id}.{port.name}" for port in reservoir.declared.ports]
    around = sight.plumbing.flood(ends, lambda step: step.kind != "relief_valve")
    rise = fall = 0.0
    for cylinder in sight.plumbing.components_at(around, *ACTUATORS):
        area = displaced_area(sight, cylinder)
        if area > 0.0:
            extension = float(resolve_element(cylinder).state["extension"])
            rise += area * extension
            fall += area * (sight.setting(cylinder, "stroke") - extension)
    for accumulator in sight.plumbing.components_at(around, "accumulator"):
        rise += float(resolve_element(accumulator).state["fluid_volume"])
    return rise, fall


def displaced_area(sight: Sight, cylinder: Component) -> float:
    """What a cylinder takes per travel more than it gives back [m2]: the rod, or the piston."""
    if cylinder.kind == "cylinder":
        return pi / 4.0 * sight.setting(cylinder, "rod_diameter") ** 2
    if cylinder.kind == "cylinder_single_acting":
        return pi / 4.0 * sight.setting(cylinder, "bore") ** 2
    return 0.0


@rule("warning", "published line-sizing guides", "Take a wider line, or less flow.")
def line_velocity(sight: Sight) -> Iterator[Hit]:
    """Too fast a flow loses pressure, heats the fluid and starves pumps."""
    for line in sight.circuit.lines.values():
        velocity = sight.readings.lines[line.id].velocity
        limit = FASTEST.get(line.role)
        if velocity is not None and limit is not None and abs(velocity) > limit:
            feet, usual = abs(velocity) / FOOT_PER_SECOND, limit / FOOT_PER_SECOND
            yield Hit(
                (line.id,),
                f"{described(line)} carries {feet:.1f} ft/s ({abs(velocity):.2f} m/s); "
                f"{usual:.0f} ft/s is the most that is usual in a {line.role} line.",
            )


@rule(
    "note",
    "published line-sizing guides: laminar up to Re 2000, turbulent from 4000 (Moody 1944)",
    "Nothing, if the loss does not matter; else a wider line for laminar, a narrower one for "
    "turbulent flow.",
)
def reynolds_between(sight: Sight) -> Iterator[Hit]:
    """Between laminar and turbulent the loss of a line is uncertain."""
    between = [
        line.id
        for line in sight.circuit.lines.values()
        if 2000.0 < (sight.readings.lines[line.id].reynolds or 0.0) < 4000.0
    ]
    if between:
        yield Hit(
            tuple(between),
            f"In {listed(between)} the flow is between laminar and turbulent (Reynolds number "
            "2000 to 4000); its loss is uncertain.",
        )


@rule(
    "warning",
    "pump makers' guides: not more than 5 inHg below the atmosphere (from memory)",
    "Widen or shorten the suction line, raise the reservoir, or put it under air pressure.",
)
def suction_too_low(sight: Sight) -> Iterator[Hit]:
    """A pump that must suck hard cavitates."""
    for pump in sight.of_kind(*PUMPS):
        pressure = sight.readings.pressures.get(f"{pump.id}.inlet")
        if pressure is not None and pressure < DEEPEST_SUCTION:
            yield Hit(
                (pump.id,),
                f"The inlet of {described(pump)} stands {-pressure / 1e5:.2f} bar below the "
                f"atmosphere; {-DEEPEST_SUCTION / 1e5:.2f} bar is the usual limit.",
            )


_FAA = "FAA-H-8083-31 ch. 12 (from memory); published maintenance texts"
_GOOD_SEALS = {
    "vegetable": ("natural rubber",),
    "mineral": ("nitrile", "neoprene"),
    "synthetic hydrocarbon": ("nitrile", "neoprene"),
    "phosphate ester": ("butyl", "EPDM"),
}


def base_of(liquid: str) -> str:
    """The base of a liquid by its name; empty if it is not known.

    >>> base_of("MIL-PRF-5606"), base_of("castor oil"), base_of("water")
    ('mineral', 'vegetable', '')
    """
    if liquid in LIQUIDS:
        return LIQUIDS[liquid].base
    words = liquid.lower()
    return "vegetable" if "castor" in words or "vegetable" in words else ""


@rule(
    "error", _FAA, "Fit seals that stand this fluid, or use the fluid that the seals are made for."
)
def seals_against_fluid(sight: Sight) -> Iterator[Hit]:
    """The wrong fluid swells or dissolves the seals."""
    for part in sight.circuit.components.values():
        seals = resolve_element(part).settings.get("seals")
        if seals in (None, "not given"):
            continue
        for liquid in sorted(_liquids_at(sight, part)):
            good = _GOOD_SEALS.get(base_of(liquid), ())
            if good and seals not in good:
                yield Hit(
                    (part.id,),
                    f"{described(part)} has seals of {seals}, which do not stand {liquid} "
                    f"({base_of(liquid)} base): it wants {listed(good, 'or')}.",
                )


@rule("error", _FAA + ": fluids are never mixed", "Fill both with the same fluid, or part them.")
def mixed_fluids(sight: Sight) -> Iterator[Hit]:
    """Two reservoirs that can feed one line must hold the same fluid."""
    told: set[frozenset[str]] = set()
    for part_id, reservoirs in sight.reservoirs_at.items():
        names = {sight.liquid_in(sight.circuit.components[r]) for r in reservoirs}
        key = frozenset(reservoirs)
        if len(names) > 1 and key not in told:
            told.add(key)
            bases = {base_of(name) for name in names}
            yield Hit(
                tuple(sorted(reservoirs)),
                f"{listed(sorted(names))} meet at {part_id}: the fluids of "
                f"{listed(sorted(reservoirs))} mix.",
                None if len(bases) > 1 or "" in bases else "warning",
            )


def _liquids_at(sight: Sight, part: Component) -> set[str]:
    """The liquids that can get to a part: the circuit's own if there is no reservoir at all."""
    if not any(sight.of_kind("reservoir")):
        return {str(sight.circuit.fluid.get("kind") or "")}
    components = sight.circuit.components
    return {sight.liquid_in(components[r]) for r in sight.reservoirs_at[part.id]}
