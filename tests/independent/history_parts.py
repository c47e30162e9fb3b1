"""From parts and lines to flows that pressures give: the contract's section 3, for a history."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass, field
from math import inf, pi
from typing import Any

from tests.independent.equations import CENTRES, PATHS, _orifice
from tests.independent.history_laws import Orifices, Pipes, Straights, Terms
from tests.independent.sheet import Part, Sheet, si, value

FREE = (inf, 1.0)
LEAST_VOLUME = 1e-6
"""Fluid in a fitting [m3], beside that of its lines: the contract gives none."""
STOP = 2e8
"""Stiffness of an actuator's stop [N/m]: fifty micrometres at ten kilonewtons."""
WRIST = 0.002
"""Share of a hand pump's limit over which its flow fades."""


class Piston:
    """A cylinder: areas by port, load by position, friction, locks."""

    def __init__(self, part: Part) -> None:
        self.id, self.part = part.id, part
        bore = pi * part["bore"] ** 2 / 4.0
        self.travel = part["stroke"]
        self.spring = (0.0, 0.0)
        if part.kind == "cylinder_single_acting":
            self.areas = {f"{part.id}.cap": bore}
            self.spring = (part["spring_preload"], part["spring_rate"])
        else:
            ring = bore - pi * part["rod_diameter"] ** 2 / 4.0
            out, back = ("cap", "rod") if part.kind == "cylinder" else ("left", "right")
            push = bore if part.kind == "cylinder" else ring
            self.areas = {f"{part.id}.{out}": push, f"{part.id}.{back}": -ring}
        self.friction = part["friction"]
        raw = part.settings.get("load", "0 N")
        table = raw if isinstance(raw, list) else [["0 m", raw], ["1 m", raw]]
        self.load = [si(place) for place, _ in table], [value(load) for _, load in table]
        fitted = part.settings.get("lock", "none")
        ends = ("retracted", "extended")
        self.locks = ends if fitted == "both" else tuple(e for e in ends if e == fitted)
        self.release = part["lock_release_pressure"] if self.locks else 0.0

    def against(self, x: float) -> tuple[float, float]:
        """Load, spring and stops [N] against extension at x, and their slope by x."""
        places, loads = self.load
        i = min(max(bisect_left(places, x) - 1, 0), len(places) - 2)
        steepness = (loads[i + 1] - loads[i]) / (places[i + 1] - places[i])
        if not places[0] <= x <= places[-1]:
            steepness = 0.0
        load = loads[i] + steepness * (x - places[i]) if steepness else loads[i + (x > places[i])]
        preload, rate = self.spring
        beyond = max(x - self.travel, 0.0) + min(x, 0.0)
        return (
            load + preload + rate * x + STOP * beyond,
            steepness + rate + (STOP if beyond else 0.0),
        )

    def inside(self, port: str, x: float) -> float:
        """Volume of the chamber at a port [m3]."""
        area = self.areas[port]
        return abs(area) * (x if area > 0.0 else self.travel - x)

    def port(self, end: str) -> str:
        """The port that moves it away from that end."""
        ports = list(self.areas)
        return ports[0] if end == "retracted" else ports[-1]


@dataclass
class Layout:
    """All flows of a circuit, the volumes of its ports, and what moves or fills."""

    sheet: Sheet
    dry: set[str]
    orifices: Orifices = field(default_factory=Orifices)
    pipes: Pipes = field(default_factory=Pipes)
    straights: Straights = field(default_factory=Straights)
    volume: dict[str, float] = field(default_factory=dict)
    fixed: dict[str, float] = field(default_factory=dict)
    pistons: list[Piston] = field(default_factory=list)

    def of(self, *kinds: str) -> list[Part]:
        """Parts of these kinds."""
        return [part for part in self.sheet.parts.values() if part.kind in kinds]


def lay_out(sheet: Sheet, dry: set[str]) -> Layout:
    """The flows of every line and part with levers and faults as they stand on the sheet."""
    layout = Layout(sheet, dry)
    for record in sheet.lines:
        _line(layout, record)
    for part in sheet.parts.values():
        MAKERS[part.kind](layout, part)
    for family in (layout.orifices, layout.pipes, layout.straights):
        family.freeze()
    return layout


def _line(layout: Layout, record: dict[str, Any]) -> None:
    ends = record["from"], record["to"]
    fault = record.get("state", {}).get("fault", "none")
    _tube(layout, record["id"], ends, value(record["bore"]), value(record["length"]), fault)


def _tube(
    layout: Layout, name: str, ends: tuple[str, str], bore: float, length: float, fault: str
) -> None:
    for port in ends:
        half = pi * bore**2 / 8.0 * length
        layout.volume[port] = layout.volume.get(port, LEAST_VOLUME) + half
        if fault == "ruptured":
            layout.fixed[port] = 0.0
    if fault == "none":
        liquid = layout.sheet.liquid
        terms = ((ends[0], 1.0), (ends[1], -1.0))
        layout.pipes.add(name, terms, bore, length, liquid.density, liquid.viscosity)


def _pair(part: Part, start: str, end: str) -> Terms:
    return ((f"{part.id}.{start}", 1.0), (f"{part.id}.{end}", -1.0))


def _rated(part: Part) -> tuple[float, float]:
    return part["rated_flow"], part["rated_drop"]


def _reservoir(layout: Layout, part: Part) -> None:
    for port in ("supply", "standpipe", "return"):
        layout.fixed.setdefault(f"{part.id}.{port}", part["air_pressure"])


def _power_pump(layout: Layout, part: Part) -> None:
    if not part.running or part.id in layout.dry:
        return
    full = part["displacement"] * part["speed"]
    leak = (1.0 - part["volumetric_efficiency"]) * full / part["rated_pressure"]
    second = None
    if part.kind == "compensated_pump":
        knee, cutoff = part["knee_pressure"], part["cutoff_pressure"]
        second = ((full - leak * knee) / (cutoff - knee), -cutoff)
    pair = _pair(part, "inlet", "outlet")
    layout.straights.add(part.id, pair, (leak, -full / leak), second, low=0.0)


def _hand_pump(layout: Layout, part: Part) -> None:
    if not part.running or part.id in layout.dry:
        return
    limit = part["effort_limit"] * part["lever_ratio"] / part["piston_area"]
    mean = part["displacement"] * part["rate"]
    pair = _pair(part, "inlet", "outlet")
    layout.straights.add(part.id, pair, (mean / (WRIST * limit), -limit), low=0.0, high=mean)


def _check(layout: Layout, part: Part) -> None:
    pair, cracking = _pair(part, "inlet", "outlet"), part["cracking_pressure"]
    layout.orifices.add(part.id, pair, _rated(part), one_way=True, offset=cracking)
    if part.kind == "pilot_check_valve":
        lift = ((f"{part.id}.pilot", part["pilot_ratio"]), *pair)
        layout.orifices.add(
            f"{part.id}:back",
            _pair(part, "outlet", "inlet"),
            _rated(part),
            one_way=True,
            control=lift,
            opens_at=0.0,
        )


def _shuttle(layout: Layout, part: Part) -> None:
    for side in (1, 2):
        pair = _pair(part, f"inlet_{side}", "outlet")
        layout.orifices.add(f"{part.id}:{side}", pair, _rated(part))


def _directional(layout: Layout, part: Part) -> None:
    if part.position == "centre":
        paths = CENTRES[part.settings.get("centre", "closed")]
    else:
        paths = PATHS[part.kind, part.position]
    for path in paths:
        layout.orifices.add(f"{part.id}:{path}", _pair(part, *path), _rated(part))


def _relief(layout: Layout, part: Part) -> None:
    slope = part["rated_flow"] / part["override"]
    pair = _pair(part, "inlet", "outlet")
    layout.straights.add(part.id, pair, (slope, part["set_pressure"]), low=0.0)


def _modulating(layout: Layout, part: Part) -> None:
    inlet, outlet = f"{part.id}.inlet", f"{part.id}.outlet"
    drain, holds = f"{part.id}.drain", part["set_pressure"]
    if part.kind == "counterbalance_valve":
        control: Terms = ((inlet, 1.0), (f"{part.id}.pilot", part["pilot_ratio"]))
    else:
        control = {
            "sequence_valve": ((inlet, 1.0), (drain, -1.0)),
            "priority_valve": ((inlet, 1.0),),
            "reducing_valve": ((drain, 1.0), (outlet, -1.0)),
        }[part.kind]
    if part.kind == "reducing_valve":
        holds = -holds
    layout.orifices.add(
        part.id,
        _pair(part, "inlet", "outlet"),
        _rated(part),
        one_way=True,
        control=control,
        opens_at=holds,
    )
    if part.kind in ("priority_valve", "counterbalance_valve"):
        back = _pair(part, "outlet", "inlet")
        layout.orifices.add(f"{part.id}:back", back, _rated(part), one_way=True)


def _unloading(layout: Layout, part: Part) -> None:
    layout.orifices.add(part.id, _pair(part, "inlet", "outlet"), _rated(part), one_way=True)
    layout.orifices.add(f"{part.id}:return", _pair(part, "inlet", "return"), _rated(part))


def _restrictor(layout: Layout, part: Part) -> None:
    share = part["opening"] if part.kind == "adjustable_restrictor" else 1.0
    orifice = _orifice(part, layout.sheet, share)
    layout.orifices.add(part.id, _pair(part, "A", "B"), orifice)


def _one_way_restrictor(layout: Layout, part: Part) -> None:
    pair, orifice = _pair(part, "free", "restricted"), _orifice(part, layout.sheet)
    layout.orifices.add(part.id, pair, FREE, one_way=True)
    back = _pair(part, "restricted", "free")
    layout.orifices.add(f"{part.id}:back", back, orifice, one_way=True)


def _flow_regulator(layout: Layout, part: Part) -> None:
    orifice = part["flow"], part["minimum_drop"]
    pair = _pair(part, "inlet", "outlet")
    layout.orifices.add(part.id, pair, orifice, most=part["flow"])


def _through(layout: Layout, part: Part) -> None:
    ends = ("inlet", "outlet") if part.kind in ("filter", "hydraulic_fuse") else ("A", "B")
    layout.orifices.add(part.id, _pair(part, *ends), _rated(part))


def _hose(layout: Layout, part: Part) -> None:
    ends = f"{part.id}.A", f"{part.id}.B"
    _tube(layout, part.id, ends, part["bore"], part["length"], part.fault)


def _piston(layout: Layout, part: Part) -> None:
    layout.pistons.append(Piston(part))


def _nothing(_layout: Layout, _part: Part) -> None:
    return None


MAKERS: dict[str, Callable[[Layout, Part], None]] = {
    "reservoir": _reservoir,
    "fixed_pump": _power_pump,
    "compensated_pump": _power_pump,
    "hand_pump": _hand_pump,
    "accumulator": _nothing,
    "check_valve": _check,
    "pilot_check_valve": _check,
    "shuttle_valve": _shuttle,
    "relief_valve": _relief,
    "unloading_valve": _unloading,
    "restrictor": _restrictor,
    "adjustable_restrictor": _restrictor,
    "one_way_restrictor": _one_way_restrictor,
    "flow_regulator": _flow_regulator,
    "hose": _hose,
    **dict.fromkeys(("cylinder", "cylinder_single_acting", "cylinder_double_rod"), _piston),
    **dict.fromkeys(("shutoff_valve", "valve_3_2", "valve_4_2", "valve_4_3"), _directional),
    **dict.fromkeys(
        ("sequence_valve", "priority_valve", "reducing_valve", "counterbalance_valve"), _modulating
    ),
    **dict.fromkeys(("hydraulic_fuse", "filter", "cooler", "quick_coupling"), _through),
    **dict.fromkeys(
        ("junction", "pressure_gauge", "pressure_switch", "test_point", "plug"), _nothing
    ),
}
