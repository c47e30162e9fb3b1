"""From parts and lines to elements: section 3 of the contract, read literally a second time.

What depends on history or on the lever stands in `Held states`: end locks, shuttles,
pilot-operated checks, unloading valves. They are settled outside (`instant`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from math import inf, pi, sqrt

from tests.independent.elements import (
    FORCE,
    VELOCITY,
    Actuator,
    Element,
    Held,
    Pump,
    free_one_way,
    linear_loss,
    orifice_loss,
    pipe_loss,
)
from tests.independent.sheet import Part, Sheet, si, value

ATMOSPHERE = 101_325.0  # standard atmosphere, ISO 2533


@dataclass
class States:
    """What the outer rounds decide: part id -> state."""

    released: dict[str, bool] = field(default_factory=dict)
    shuttle: dict[str, int] = field(default_factory=dict)
    pilot_open: dict[str, bool] = field(default_factory=dict)
    unloaded: dict[str, bool] = field(default_factory=dict)
    dry: set[str] = field(default_factory=set)


Maker = Callable[[Part, Sheet, States], list[Element]]


def _pair(part: Part, start: str, end: str) -> tuple[tuple[str, float], tuple[str, float]]:
    return (f"{part.id}.{start}", 1.0), (f"{part.id}.{end}", -1.0)


def _passage(part: Part, start: str, end: str) -> Element:
    loss = orifice_loss(part["rated_flow"], part["rated_drop"])
    return Element(f"{part.id}:{start}-{end}", _pair(part, start, end), loss)


def _one_way(part: Part, start: str, end: str, offset: float = 0.0) -> Element:
    loss = orifice_loss(part["rated_flow"], part["rated_drop"])
    return Element(f"{part.id}:{start}-{end}", _pair(part, start, end), loss, offset, low=0.0)


def _orifice(part: Part, sheet: Sheet, share: float = 1.0) -> tuple[float, float]:
    """(flow, drop) of a restrictor: C_d (pi d^2 / 4) sqrt(2 dp / rho)."""
    if part.has("rated_flow") and part.has("rated_drop"):
        return share * part["rated_flow"], part["rated_drop"]
    drop = 1e5
    area = pi * part["diameter"] ** 2 / 4.0
    flow = part["discharge_coefficient"] * area * sqrt(2.0 * drop / sheet.liquid.density)
    return share * flow, drop


def _line(
    identifier: str, start: str, end: str, bore: float, length: float, sheet: Sheet
) -> Element:
    loss = pipe_loss(bore, length, sheet.liquid.density, sheet.liquid.viscosity)
    return Element(identifier, ((start, 1.0), (end, -1.0)), loss)


def lines(sheet: Sheet) -> list[Element]:
    """Every line that is whole; a ruptured one is open to the atmosphere at both ends."""
    found: list[Element] = []
    for record in sheet.lines:
        fault = record.get("state", {}).get("fault", "none")
        start, end = record["from"], record["to"]
        if fault == "ruptured":
            found += [Held(f"{record['id']}:{p}", ((p, 1.0),)) for p in (start, end)]
        elif fault == "none":
            bore, length = value(record["bore"]), value(record["length"])
            found.append(_line(record["id"], start, end, bore, length, sheet))
    return found


def _reservoir(part: Part, _sheet: Sheet, _states: States) -> list[Element]:
    air = part["air_pressure"]
    return [
        Held(f"{part.id}:{p}", ((f"{part.id}.{p}", 1.0),), offset=air)
        for p in ("supply", "standpipe", "return")
    ]


def _power_pump(part: Part, _sheet: Sheet, states: States) -> list[Element]:
    if not part.running or part.id in states.dry:
        return []
    full = part["displacement"] * part["speed"]
    leak = (1.0 - part["volumetric_efficiency"]) * full / part["rated_pressure"]
    characteristics = [(full, leak)]
    if part.kind == "compensated_pump":
        knee, cutoff = part["knee_pressure"], part["cutoff_pressure"]
        slope = (full - leak * knee) / (cutoff - knee)
        characteristics.append((slope * cutoff, slope))
    return [Pump(part.id, _pair(part, "inlet", "outlet"), characteristics=tuple(characteristics))]


def _hand_pump(part: Part, _sheet: Sheet, states: States) -> list[Element]:
    if not part.running or part.id in states.dry:
        return []
    limit = part["effort_limit"] * part["lever_ratio"] / part["piston_area"]
    mean = part["displacement"] * part["rate"]
    terms = _pair(part, "inlet", "outlet")
    # a trace of slope stands for the wrist: without it nothing tells two pumps at one limit apart
    return [Element(part.id, terms, linear_loss(1e4), -limit, low=0.0, high=mean)]


def _check(part: Part, _sheet: Sheet, _states: States) -> list[Element]:
    return [_one_way(part, "inlet", "outlet", part["cracking_pressure"])]


def _pilot_check(part: Part, _sheet: Sheet, states: States) -> list[Element]:
    found = [_one_way(part, "inlet", "outlet", part["cracking_pressure"])]
    if states.pilot_open.get(part.id):
        found.append(_one_way(part, "outlet", "inlet"))
    return found


def _shuttle(part: Part, _sheet: Sheet, states: States) -> list[Element]:
    return [_passage(part, f"inlet_{states.shuttle.get(part.id, 1)}", "outlet")]


PATHS = {
    ("shutoff_valve", "open"): ("AB",),
    ("shutoff_valve", "closed"): (),
    ("valve_3_2", "left"): ("PA",),
    ("valve_3_2", "right"): ("AT",),
    ("valve_4_2", "left"): ("PA", "BT"),
    ("valve_4_2", "right"): ("PB", "AT"),
    ("valve_4_3", "left"): ("PA", "BT"),
    ("valve_4_3", "right"): ("PB", "AT"),
}
CENTRES = {
    "closed": (),
    "open": ("PT", "AT", "BT"),
    "tandem": ("PT",),
    "float": ("AT", "BT"),
    "regenerative": ("PA", "PB"),
}


def _directional(part: Part, _sheet: Sheet, _states: States) -> list[Element]:
    if part.position == "centre":
        paths = CENTRES[part.settings.get("centre", "closed")]
    else:
        paths = PATHS[part.kind, part.position]
    return [_passage(part, path[0], path[1]) for path in paths]


def _relief(part: Part, _sheet: Sheet, _states: States) -> list[Element]:
    slope = part["override"] / part["rated_flow"]
    terms = _pair(part, "inlet", "outlet")
    return [Element(part.id, terms, linear_loss(slope), part["set_pressure"], low=0.0)]


def _modulating(part: Part, _sheet: Sheet, _states: States) -> list[Element]:
    inlet, outlet = f"{part.id}.inlet", f"{part.id}.outlet"
    holds = part["set_pressure"]
    limits = {
        "sequence_valve": (holds, ((inlet, 1.0), (f"{part.id}.drain", -1.0))),
        "priority_valve": (holds, ((inlet, 1.0),)),
        "reducing_valve": (-holds, ((f"{part.id}.drain", 1.0), (outlet, -1.0))),
    }
    if part.kind == "counterbalance_valve":
        pilot = (f"{part.id}.pilot", part["pilot_ratio"])
        limits["counterbalance_valve"] = (holds, ((inlet, 1.0), pilot))
    forward = _one_way(part, "inlet", "outlet")
    forward.limits = (limits[part.kind],)
    free_back = part.kind in ("priority_valve", "counterbalance_valve")
    return [forward, _one_way(part, "outlet", "inlet")] if free_back else [forward]


def _unloading(part: Part, _sheet: Sheet, states: States) -> list[Element]:
    found = [_one_way(part, "inlet", "outlet")]
    if states.unloaded.get(part.id):
        found.append(_passage(part, "inlet", "return"))
    return found


def _restrictor(part: Part, sheet: Sheet, _states: States) -> list[Element]:
    share = part["opening"] if part.kind == "adjustable_restrictor" else 1.0
    loss = orifice_loss(*_orifice(part, sheet, share))
    return [Element(part.id, _pair(part, "A", "B"), loss)]


def _one_way_restrictor(part: Part, sheet: Sheet, _states: States) -> list[Element]:
    loss = free_one_way(*_orifice(part, sheet))
    return [Element(part.id, _pair(part, "free", "restricted"), loss)]


def _flow_regulator(part: Part, _sheet: Sheet, _states: States) -> list[Element]:
    loss = orifice_loss(part["flow"], part["minimum_drop"])
    return [Element(part.id, _pair(part, "inlet", "outlet"), loss, high=part["flow"])]


def _through(part: Part, _sheet: Sheet, _states: States) -> list[Element]:
    inlet, outlet = ("inlet", "outlet") if part.kind in ("filter", "hydraulic_fuse") else ("A", "B")
    return [_passage(part, inlet, outlet)]


def _hose(part: Part, sheet: Sheet, _states: States) -> list[Element]:
    return [_line(part.id, f"{part.id}.A", f"{part.id}.B", part["bore"], part["length"], sheet)]


def _accumulator(part: Part, _sheet: Sheet, _states: States) -> list[Element]:
    volume, stored = part["gas_volume"], part["fluid_volume"]
    charge = part["precharge"] + ATMOSPHERE
    gas = charge * (volume / (volume - stored)) ** part["polytropic_index"] - ATMOSPHERE
    terms = ((f"{part.id}.fluid", 1.0),)
    if stored > 0.0:
        return [Held(part.id, terms, offset=gas)]
    return [Element(part.id, terms, offset=gas, low=0.0)]


def _piston(part: Part, areas: dict[str, float], against: float, states: States) -> list[Element]:
    """Friction either way; at a stop no further; held where an end lock is in."""
    friction, extension, stroke = part["friction"], part["extension"], part["stroke"]
    low, high = -friction, friction
    tolerance = 1e-9 * stroke
    ends = []
    if extension <= tolerance:
        low = -inf
        ends.append("retracted")
    if extension >= stroke - tolerance:
        high = inf
        ends.append("extended")
    lock = part.settings.get("lock", "none")
    if (lock in ends or (lock == "both" and ends)) and not states.released.get(part.id):
        low, high = -inf, inf
    return [
        Actuator(
            part.id,
            tuple((f"{part.id}.{p}", a) for p, a in areas.items()),
            offset=against,
            scale=VELOCITY,
            drive_scale=FORCE,
            friction_low=low,
            friction_high=high,
        )
    ]


def _cylinder(part: Part, _sheet: Sheet, states: States) -> list[Element]:
    cap = pi * part["bore"] ** 2 / 4.0
    ring = cap - pi * part["rod_diameter"] ** 2 / 4.0
    return _piston(part, {"cap": cap, "rod": -ring}, part.load, states)


def _double_rod(part: Part, _sheet: Sheet, states: States) -> list[Element]:
    ring = pi * (part["bore"] ** 2 - part["rod_diameter"] ** 2) / 4.0
    return _piston(part, {"left": ring, "right": -ring}, part.load, states)


def _single_acting(part: Part, _sheet: Sheet, states: States) -> list[Element]:
    spring = part["spring_preload"] + part["spring_rate"] * part["extension"]
    return _piston(part, {"cap": pi * part["bore"] ** 2 / 4.0}, part.load + spring, states)


def _nothing(_part: Part, _sheet: Sheet, _states: States) -> list[Element]:
    return []


MAKERS: dict[str, Maker] = {
    "reservoir": _reservoir,
    "fixed_pump": _power_pump,
    "compensated_pump": _power_pump,
    "hand_pump": _hand_pump,
    "accumulator": _accumulator,
    "cylinder": _cylinder,
    "cylinder_single_acting": _single_acting,
    "cylinder_double_rod": _double_rod,
    "check_valve": _check,
    "pilot_check_valve": _pilot_check,
    "shuttle_valve": _shuttle,
    "shutoff_valve": _directional,
    "valve_3_2": _directional,
    "valve_4_2": _directional,
    "valve_4_3": _directional,
    "relief_valve": _relief,
    "sequence_valve": _modulating,
    "priority_valve": _modulating,
    "reducing_valve": _modulating,
    "counterbalance_valve": _modulating,
    "unloading_valve": _unloading,
    "restrictor": _restrictor,
    "adjustable_restrictor": _restrictor,
    "one_way_restrictor": _one_way_restrictor,
    "flow_regulator": _flow_regulator,
    "hydraulic_fuse": _through,
    "filter": _through,
    "cooler": _through,
    "quick_coupling": _through,
    "hose": _hose,
    "junction": _nothing,
    "pressure_gauge": _nothing,
    "pressure_switch": _nothing,
    "test_point": _nothing,
    "plug": _nothing,
}


def elements(sheet: Sheet, states: States) -> list[Element]:
    """Every element of the circuit in the given states."""
    found = lines(sheet)
    for part in sheet.parts.values():
        found += MAKERS[part.kind](part, sheet, states)
    return found


__all__ = ["ATMOSPHERE", "States", "elements", "si"]
