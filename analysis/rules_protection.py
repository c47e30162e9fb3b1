"""Rules on over-pressure: relief valves, trapped volumes, rod ends, accumulators."""

from __future__ import annotations

from collections.abc import Iterator

from analysis.circuit import Component
from analysis.laws.directional import open_paths
from analysis.lever_sets import NONE
from analysis.load_pressures import load_pressures
from analysis.passages import ACTUATORS, SOURCES
from analysis.plumbing import PIPES, SELECTORS, THROTTLES, Step, pipes_only
from analysis.relief_cover import (
    can_let_off,
    protecting,
    relief_inlets,
    to_first_closing,
)
from analysis.rules import Hit, Sight, rule
from analysis.words import described, listed

_ISO_4413 = "ISO 4413, every part protected against over-pressure (as paraphrased in course notes)"


@rule(
    "warning", _ISO_4413, "Put a relief valve between the pump and the first valve that can close."
)
def pump_without_relief(sight: Sight) -> Iterator[Hit]:
    """A fixed pump needs a relief valve ahead of the first thing that can close."""
    for pump in sight.of_kind("fixed_pump"):
        region = sight.plumbing.flood([f"{pump.id}.outlet"], to_first_closing)
        if not any(port.endswith(".inlet") for port in relief_inlets(sight, region)):
            yield Hit(
                (pump.id,),
                f"There is no relief valve between {described(pump)} and the first valve that "
                "can close its delivery.",
            )


@rule("warning", _ISO_4413, "Set the relief valve below the rating, or fit a part rated higher.")
def relief_above_rating(sight: Sight) -> Iterator[Hit]:
    """A relief valve protects only what is rated for its set pressure."""
    for part, ports, name in _ratings(sight):
        if name not in part.settings:
            continue  # a rating that nobody gave proves nothing
        rating = sight.setting(part, name)
        valves = [valve for port in ports for valve in sight.limits.at(port, in_full=True)]
        above = [v for v in valves if v is not None and _set_at(sight, v) > rating * 1.0001]
        if above:
            yield Hit(
                (above[0].id, part.id),
                f"{described(above[0])} opens only above the {name.replace('_', ' ')} "
                f"of {described(part)}.",
            )


def _ratings(sight: Sight) -> Iterator[tuple[Component, tuple[str, ...], str]]:
    """(part, its ports that see the pressure, the setting that says what it stands)."""
    for part in sight.of_kind("fixed_pump", "compensated_pump"):
        yield part, (f"{part.id}.outlet",), "rated_pressure"
    for part in sight.of_kind("pressure_gauge", "test_point"):
        yield part, (f"{part.id}.A",), "range"
    for part in sight.of_kind("hydraulic_motor"):
        yield part, (f"{part.id}.A", f"{part.id}.B"), "rated_pressure"


def _set_at(sight: Sight, valve: Component) -> float:
    return sight.setting(valve, "set_pressure")


@rule("warning", "common practice", "Set the relief valve above the highest working pressure.")
def relief_below_working_pressure(sight: Sight) -> Iterator[Hit]:
    """A relief valve that opens in ordinary work turns all power into heat, and lifts no load."""
    for part, port, working, what in _working_pressures(sight):
        valves = sight.limits.at(port, in_full=False)
        if not valves or any(v is None or _set_at(sight, v) >= working * 0.9999 for v in valves):
            continue  # a source that comes to more does the work
        valve = max((v for v in valves if v is not None), key=lambda v: _set_at(sight, v))
        yield Hit(
            (valve.id, part.id),
            f"{described(valve)} opens below the {what} of {described(part)}"
            + (f", {working / 1e5:.0f} bar." if what == _LOADED else "."),
        )


_LOADED = "pressure that moves the load"


def _working_pressures(sight: Sight) -> Iterator[tuple[Component, str, float, str]]:
    """(part, port, pressure [Pa] that it works at there, what that is)."""
    for pump in sight.of_kind("compensated_pump"):
        cutoff = sight.setting(pump, "cutoff_pressure")
        yield pump, f"{pump.id}.outlet", cutoff, "cutoff pressure"
    for valve in sight.of_kind("unloading_valve"):
        # the relief valve may stand at the pump or at the accumulator
        port = "outlet" if protecting(sight, f"{valve.id}.outlet") else "inlet"
        cut_out = sight.setting(valve, "cut_out_pressure")
        yield valve, f"{valve.id}.{port}", cut_out, "cut out pressure"
    for valve in sight.of_kind("sequence_valve", "priority_valve"):
        yield valve, f"{valve.id}.inlet", _set_at(sight, valve), "set pressure"
    for part in sight.of_kind(*ACTUATORS):
        for port, working in load_pressures(part).items():
            yield part, f"{part.id}.{port}", working, _LOADED


def _leaks_away(step: Step) -> bool:
    """Where a pressed volume can get away by itself: no valve that can shut is passed."""
    if step.kind in PIPES or step.kind in THROTTLES:
        return True
    if step.kind in ("hydraulic_motor", "flow_divider", "hydraulic_fuse", "counterbalance_valve"):
        return True  # a counterbalance valve gives way at its set pressure
    if step.kind == "unloading_valve" and step.there.endswith(".return"):
        return False
    return step.kind in _GIVE_WAY and step.forward


_GIVE_WAY = (*SOURCES, "check_valve", "pilot_check_valve", "shuttle_valve", "filter",
             "sequence_valve", "priority_valve", "unloading_valve")  # fmt: skip
"""Kinds that let pressure out one way; a pump's own valves open towards its outlet."""


_CHECKS = ("check_valve", "pilot_check_valve")
_TIGHT = (*_CHECKS, "shutoff_valve")


@rule(
    "warning",
    "FAA-H-8083-31 ch. 12 (from memory): thermal relief valves where fluid can be shut in",
    "Fit a thermal relief valve, or let the volume breathe past the valve.",
)
def trapped_volume(sight: Sight) -> Iterator[Hit]:
    """Fluid shut in on all sides rises in pressure by some 10 bar for every degree."""
    done: set[str] = set()
    for port in _line_ends(sight):
        if port in done:
            continue
        region = sight.plumbing.flood([port], _both_ways)
        done |= region
        if _breathes(sight, region):
            continue
        closing = _closing_parts(sight, region)
        if not closing or not any(part.kind in _TIGHT for part in closing):
            continue
        spools = [part for part in closing if part.kind in SELECTORS]
        held = sight.plumbing.components_at(region, *ACTUATORS)
        where = f" at {listed(described(a) for a in held)}" if held else ""
        yield Hit(
            tuple(part.id for part in (*held, *closing)),
            f"The fluid {'behind' if len(closing) == 1 else 'between'} "
            f"{listed(described(part) for part in closing)}{where} can be shut "
            "in without a relief valve; warmed, its pressure rises"
            + (" until it leaks past the spool." if spools else "."),
            "note" if spools else None,
        )


def _both_ways(step: Step) -> bool:
    return step.kind in PIPES or step.kind in THROTTLES or step.kind == "hydraulic_motor"


def _line_ends(sight: Sight) -> list[str]:
    """The ends of the lines, those at closed actuators first."""
    ends = {end: None for line in sight.circuit.lines.values() for end in (line.start, line.end)}
    return sorted(ends, key=lambda end: sight.plumbing.kind_at(end) not in ACTUATORS)


def _breathes(sight: Sight, region: set[str]) -> bool:
    """Whether the pressure of the region finds a relief valve, a gas cushion or a reservoir."""
    wider = sight.plumbing.flood(region, _leaks_away)
    for port in wider:
        kind, name = sight.plumbing.kind_at(port), port.rpartition(".")[2]
        if kind in ("reservoir", "accumulator", "compensated_pump"):
            return True
        if kind == "unloading_valve" and name == "inlet":
            return True
        if kind == "relief_valve" and name == "inlet" and can_let_off(sight, _owner(sight, port)):
            return True
        if kind in SELECTORS and not _can_shut(_owner(sight, port), name):
            return True
    return any(sight.plumbing.kind_at(port) == "pressure_source" for port in region)


def _owner(sight: Sight, port: str) -> Component:
    return sight.circuit.components[port.rpartition(".")[0]]


def _can_shut(part: Component, port: str) -> bool:
    """Whether the part can keep fluid from leaving the region at that port of it."""
    if part.kind in _CHECKS:
        return port == "outlet"
    if part.kind in SELECTORS:
        centre = str(part.settings.get("centre") or "closed")
        return any(
            all(port not in path for path in open_paths(part.kind, position, centre))
            for position in part.declared.states["position"].choices
        )
    return part.kind in _TIGHT


def _closing_parts(sight: Sight, region: set[str]) -> list[Component]:
    """What can shut the region in: selectors, shut-off valves, the outlets of check valves."""
    shutting = {p for p in region if _can_shut(_owner(sight, p), p.rpartition(".")[2])}
    return sight.plumbing.components_at(shutting, *_TIGHT, *SELECTORS)


@rule(
    "warning",
    "statics: p times cap area over rod-end area",
    "Throttle the flow into the cap end instead, or fit a relief valve at the rod end.",
)
def rod_end_intensification(sight: Sight) -> Iterator[Hit]:
    """Pressed at the cap with the rod end shut or throttled, the rod end carries more."""
    for cylinder in sight.of_kind("cylinder"):
        ratio = rod_end_ratio(
            sight.setting(cylinder, "bore"), sight.setting(cylinder, "rod_diameter")
        )
        holder = _rod_end_holder(sight, cylinder, ratio)
        if holder is None or ratio <= 1.05:
            continue
        yield Hit(
            (cylinder.id, holder.id),
            f"{described(holder)} can hold fluid in the rod end of {described(cylinder)} while "
            f"its cap is pressed: the rod end then carries up to {ratio:.2f} times the pressure, "
            "and no relief valve is there.",
            None if ratio >= 2.0 else "note",
        )


def rod_end_ratio(bore: float, rod_diameter: float) -> float:
    """Cap area over rod-end area, from diameters [m]; 1 if the rod fills the bore.

    >>> round(rod_end_ratio(0.050, 0.0354), 2)
    2.01
    """
    return bore**2 / (bore**2 - rod_diameter**2) if rod_diameter < bore else 1.0


def _rod_end_holder(sight: Sight, cylinder: Component, ratio: float) -> Component | None:
    """What can hold the rod end while the cap is pressed; None if nothing does, or a relief
    valve protects it."""
    region = sight.plumbing.flood([f"{cylinder.id}.rod"], pipes_only)
    if relief_inlets(sight, region):
        return None
    for port in sorted(region):
        part = sight.circuit.components[port.rpartition(".")[0]]
        name = port.rpartition(".")[2]
        throttled = part.kind in THROTTLES and (
            part.kind != "one_way_restrictor" or name == "restricted"
        )
        balanced = part.kind == "counterbalance_valve" and name == "inlet"
        # a pilot-operated check whose pilot cannot overcome the raised pressure never opens
        locked = (
            part.kind == "pilot_check_valve"
            and name == "outlet"
            and sight.setting(part, "pilot_ratio") <= ratio
        )
        if throttled or balanced or locked or part.kind == "shutoff_valve":
            return part
    return None


@rule(
    "warning",
    "ISO 4413, accumulators vented or isolated at shut-down, or marked (as paraphrased in course "
    "notes)",
    "Fit a release valve from the accumulator to the reservoir, or a valve that isolates it.",
)
def accumulator_stays_charged(sight: Sight) -> Iterator[Hit]:
    """After shut-down an accumulator must be emptied or shut off."""
    for accumulator in sight.of_kind("accumulator"):
        port = f"{accumulator.id}.fluid"
        reached = sight.reach.reached.get(accumulator.id, {})
        if any(
            at != NONE and sight.plumbing.kind_at(p) == "reservoir" for p, at in reached.items()
        ):
            continue
        region = sight.plumbing.flood([port], pipes_only)
        if not _is_isolated(sight, region - {port}):
            yield Hit(
                (accumulator.id,),
                f"{described(accumulator)} stays charged at shut-down: no lever lets it off to a "
                "reservoir, and no shut-off valve isolates it.",
            )


def _is_isolated(sight: Sight, region: set[str]) -> bool:
    """Whether only shut-off valves lead out of the region: the accumulator can be shut off."""
    kinds = {sight.plumbing.kind_at(port) for port in region}
    return "shutoff_valve" in kinds and kinds <= {
        "shutoff_valve", "junction", "pressure_gauge", "pressure_switch", "test_point",
        "relief_valve", "plug", *PIPES,
    }  # fmt: skip
