"""Rules on check valves, pumps that share a line, and filters."""

from __future__ import annotations

from collections.abc import Iterator

from analysis.lever_sets import NONE
from analysis.passages import ACTUATORS, SOURCES, actuator_ports
from analysis.plumbing import PIPES, SELECTORS, THROTTLES, Step
from analysis.rules import Hit, Sight, rule
from analysis.words import described, described_port, listed

PUMPS = ("fixed_pump", "compensated_pump", "hand_pump")


@rule("warning", "common practice", "Turn the check valve round, or lead a line past it.")
def check_valve_blocks_only_way(sight: Sight) -> Iterator[Hit]:
    """A check valve the wrong way round cuts off what lies behind it."""
    cut_off = [
        port
        for port in actuator_ports(sight.circuit)
        if NONE in (sight.reach.by_any(port), sight.reach.returns[port])
    ]
    if not cut_off:
        return
    for valve in sight.of_kind("check_valve"):
        freed = [port for port in cut_off if _freed(sight, port, valve.id)]
        if freed:
            places = listed(described_port(sight.circuit, port) for port in freed)
            yield Hit(
                (valve.id,),
                f"{described(valve)} blocks the only way to or from {places}.",
            )


def _freed(sight: Sight, port: str, valve: str) -> bool:
    """Whether the port would be reached, or could empty, if that check valve carried back."""
    starts = [f"{c.id}.{SOURCES[c.kind][1]}" for c in sight.of_kind(*SOURCES)]
    if sight.reach.by_any(port) == NONE:
        without = sight.plumbing.flood(starts, _onward)
        turned = sight.plumbing.flood(starts, lambda s: _onward(s) or s.element == valve)
        if port in turned and port not in without:
            return True
    if sight.reach.returns[port] == NONE:
        without = sight.plumbing.flood([port], _homeward)
        turned = sight.plumbing.flood([port], lambda s: _homeward(s) or s.element == valve)
        at_reservoir = {p for p in turned if sight.plumbing.kind_at(p) == "reservoir"}
        return bool(at_reservoir) and not at_reservoir & without
    return False


_BOTH_WAYS = (*PIPES, *THROTTLES, *SELECTORS, "shutoff_valve", "flow_divider", "hydraulic_fuse",
              "pilot_check_valve", "counterbalance_valve", "hydraulic_motor")  # fmt: skip


def _onward(step: Step) -> bool:
    if step.kind == "relief_valve" or step.there.endswith((".return", ".drain")):
        return step.kind == "line"
    return step.kind in _BOTH_WAYS or step.forward


def _homeward(step: Step) -> bool:
    if step.kind == "relief_valve" or step.kind in PUMPS:
        return False
    return step.kind in _BOTH_WAYS or step.forward or step.kind == "shuttle_valve"


@rule("warning", "common practice", "Fit a check valve behind each of the pumps.")
def pumps_without_check_valves(sight: Sight) -> Iterator[Hit]:
    """Two pumps on one line: one presses on the other where no check valve parts them."""
    pumps = [pump.id for pump in sight.of_kind(*PUMPS)]
    told: set[frozenset[str]] = set()
    for one in pumps:
        for other in pumps:
            at = sight.reach.reached.get(one, {}).get(f"{other}.outlet", NONE)
            if one == other or at == NONE or frozenset((one, other)) in told:
                continue
            told.add(frozenset((one, other)))
            setting = sight.reach.sets.example(at) or {}
            with_levers = ", ".join(f"{lever} at {place}" for lever, place in setting.items())
            yield Hit(
                (one, other),
                f"{described(sight.circuit.components[one])} presses on the delivery of "
                f"{described(sight.circuit.components[other])}: no check valve parts them"
                + (f" (with {with_levers})." if setting else "."),
            )


def _no_check(step: Step) -> bool:
    """Back into a pump's delivery: what a check valve or a shuttle would stop."""
    return step.kind in PIPES or step.kind in THROTTLES or step.kind in ("filter", "flow_divider")


@rule("warning", "common practice", "Fit a check valve behind the hand pump.")
def hand_pump_without_check(sight: Sight) -> Iterator[Hit]:
    """Without a check valve behind it, pressure from elsewhere kicks back at the handle."""
    for pump in sight.of_kind("hand_pump"):
        region = sight.plumbing.flood([f"{pump.id}.outlet"], _no_check) - {f"{pump.id}.outlet"}
        pressing = sight.plumbing.components_at(region, "accumulator", *ACTUATORS, *SELECTORS)
        pressing += [
            c
            for c in sight.plumbing.components_at(region, *PUMPS, "pressure_source")
            if f"{c.id}.outlet" in region and c.id != pump.id
        ]
        if pressing:
            yield Hit(
                (pump.id, pressing[0].id),
                f"No check valve stands between {described(pump)} and "
                f"{described(pressing[0])}: what presses there also presses on the handle.",
            )


@rule("warning", "common practice", "Fit a filter in the suction, pressure or return line.")
def no_filter(sight: Sight) -> Iterator[Hit]:
    """Every pump's fluid should pass a filter somewhere on its round."""
    for pump in sight.of_kind(*PUMPS):
        upstream = sight.plumbing.flood([f"{pump.id}.inlet"], _upstream)
        reservoirs = {r.id for r in sight.plumbing.components_at(upstream, "reservoir")}
        if not reservoirs:
            continue  # another rule speaks of that
        if _has_filter(sight, upstream):
            continue
        if _has_filter(sight, sight.plumbing.flood([f"{pump.id}.outlet"], _onward)):
            continue
        ends = [f"{r}.{p}" for r in sorted(reservoirs) for p in ("return", "supply", "standpipe")]
        if not _has_filter(sight, sight.plumbing.flood(ends, _upstream)):
            yield Hit(
                (pump.id,),
                f"The fluid that {described(pump)} moves passes no filter.",
            )


def _has_filter(sight: Sight, ports: set[str]) -> bool:
    return bool(sight.plumbing.components_at(ports, "filter"))


def _upstream(step: Step) -> bool:
    return step.kind in _BOTH_WAYS or not step.forward


@rule(
    "warning",
    "common practice",
    "Move the filter to a line with flow one way only, or lead the way back past it through a "
    "check valve.",
)
def filter_passed_backward(sight: Sight) -> Iterator[Hit]:
    """Flow the wrong way washes the dirt out of the element."""
    for part in sight.of_kind("filter"):
        behind = sight.plumbing.flood([f"{part.id}.outlet"], _no_valve)
        ahead = sight.plumbing.flood([f"{part.id}.inlet"], _no_valve)
        users = sight.plumbing.components_at(behind, *ACTUATORS)
        if not sight.plumbing.components_at(ahead, *SELECTORS):
            # a motor that nothing reverses hands on what it takes
            users = [user for user in users if user.kind != "hydraulic_motor"]
        if users and not behind & ahead and not _led_past(sight, behind, ahead):
            yield Hit(
                (part.id, users[0].id),
                f"What returns from {described(users[0])} would have to pass {described(part)} "
                "backward.",
            )
        elif (sight.readings.inflows.get(f"{part.id}.outlet") or 0.0) > 1e-9:
            yield Hit((part.id,), f"The flow passes {described(part)} backward as things stand.")


def _no_valve(step: Step) -> bool:
    return step.kind in PIPES or step.kind in THROTTLES or step.kind == "hydraulic_fuse"


def _led_past(sight: Sight, behind: set[str], ahead: set[str]) -> bool:
    """Whether a check valve leads from behind the filter back, or another line leads away."""
    past = sight.plumbing.flood(
        behind, lambda s: (s.kind == "check_valve" and s.forward) or _no_valve(s)
    )
    exits = sight.plumbing.components_at(behind, *SELECTORS, "shutoff_valve")
    return bool(past & ahead) or bool(exits)
