"""Lever positions, pump states and rod positions in which both formulations are compared."""

from __future__ import annotations

from typing import Any

Changes = dict[str, dict[str, Any]]


def at(extension: str, *cylinders: str) -> Changes:
    """Cylinders at an extension, with their end locks engaged."""
    return {c: {"extension": extension, "lock": "locked"} for c in cylinders}


def to(**positions: str) -> Changes:
    """Valves at a position; an id that starts with a digit is written with a leading v."""
    return {name.lstrip("v"): {"position": position} for name, position in positions.items()}


def run(*pumps: str) -> Changes:
    """Pumps running."""
    return {p: {"running": True} for p in pumps}


def stop(*pumps: str) -> Changes:
    """Pumps standing still."""
    return {p: {"running": False} for p in pumps}


HAND = "hand_pumped_gear"
EMERGENCY = "emergency_pump"
UNLOADING = "unloading_valve"
FALLING = "falling_gear"
LEGS = ("1A1", "1A2")
ON = to(v2V1="EMERGENCY", v2V2="EMERGENCY")
NORMAL = to(v1V2="NORMAL", v0V6="SHUT")

CASES: dict[str, tuple[str, Changes]] = {
    "press pumping": ("bench_press", {}),
    "press returning": ("bench_press", stop("0P1") | to(v0V6="RELEASE")),
    "press, needle nearly shut": (
        "bench_press",
        stop("0P1") | to(v0V6="RELEASE") | {"0V7": {"opening": 0.1}},
    ),
    "press at its stop, handle stiff": ("bench_press", {"1A1": {"extension": "150 mm"}}),
    "press at its stop, strong operator": (
        "bench_press",
        {"1A1": {"extension": "150 mm"}, "0P1": {"effort_limit": "400 N"}},
    ),
    "press idle and released": (
        "bench_press",
        stop("0P1") | to(v0V6="RELEASE") | {"1A1": {"extension": "0 mm"}},
    ),
    "hand pump lowering": (HAND, {}),
    "hand pump raising": (HAND, to(v1V1="UP")),
    "hand pump in neutral": (HAND, to(v1V1="NEUTRAL")),
    "hand pump unlocking": (HAND, at("0 in", *LEGS, "1A3")),
    "hand pump, all legs down": (HAND, at("9 in", *LEGS) | at("5 in", "1A3")),
    "hand pump, tail wheel last": (HAND, at("9 in", *LEGS)),
    "hand pump, strong operator at the stops": (
        HAND,
        at("9 in", *LEGS) | at("5 in", "1A3") | {"0P1": {"effort_limit": "90 lbf"}},
    ),
    "electric pump lowering": (EMERGENCY, {}),
    "electric pump raising": (EMERGENCY, to(v1V1="UP")),
    "electric pump unlocking": (EMERGENCY, at("0 in", *LEGS, "1A3")),
    "electric pump on its relief": (EMERGENCY, at("12 in", *LEGS) | at("6 in", "1A3")),
    "flaps going down": (EMERGENCY, to(v1V1="NEUTRAL", v3V1="DOWN")),
    "flaps going up": (EMERGENCY, to(v1V1="NEUTRAL", v3V1="UP")),
    "flaps down at the stop": (
        EMERGENCY,
        to(v1V1="NEUTRAL", v3V1="DOWN") | {"3A1": {"extension": "8 in"}},
    ),
    "flaps and gear together": (EMERGENCY, to(v3V1="DOWN")),
    "electric pump and hand pump together": (EMERGENCY, run("0P2")),
    "electric pump lost, hand pump lowering": (
        EMERGENCY,
        run("0P2") | {"0P1": {"fault": "no_output"}},
    ),
    "hand pump raising beside a stopped pump": (
        EMERGENCY,
        run("0P2") | stop("0P1") | to(v1V1="UP"),
    ),
    "released to the reservoir": (EMERGENCY, to(v0V8="RELEASE")),
    "emergency pump lowering": (EMERGENCY, ON | run("2P1") | stop("0P1")),
    "emergency pump lowering against the selector": (
        EMERGENCY,
        ON | run("2P1") | stop("0P1") | to(v1V1="UP"),
    ),
    "emergency pump unlocking": (
        EMERGENCY,
        ON | run("2P1") | stop("0P1") | at("0 in", *LEGS, "1A3"),
    ),
    "emergency pump at the stops": (
        EMERGENCY,
        ON | run("2P1") | stop("0P1") | at("12 in", *LEGS),
    ),
    "emergency pump after a burst line": (
        EMERGENCY,
        ON | run("2P1") | {"L32": {"fault": "ruptured"}},
    ),
    "unloading valve at work, gear going down": (UNLOADING, {}),
    "accumulator and pump raising": (UNLOADING, to(v1V1="UP")),
    "levers at rest, accumulator charging": (UNLOADING, to(v1V1="NEUTRAL")),
    "cut out": (UNLOADING, to(v1V1="NEUTRAL") | {"0Z3": {"fluid_volume": "50 in^3"}}),
    "engine stopped, accumulator lowering": (UNLOADING, stop("0P1")),
    "accumulator empty": (UNLOADING, {"0Z3": {"fluid_volume": "0 in^3"}}),
    "fluid down to the standpipe, hand pump lowering": (
        UNLOADING,
        run("0P2") | {"0Z1": {"volume": "0.8 gal"}, "0Z3": {"fluid_volume": "0 in^3"}},
    ),
    "flaps going down on the accumulator": (
        UNLOADING,
        stop("0P1") | to(v1V1="NEUTRAL", v2V1="DOWN"),
    ),
    "flaps going up on the accumulator": (
        UNLOADING,
        stop("0P1") | to(v1V1="NEUTRAL", v2V1="UP"),
    ),
    "flaps held back by the priority valve": (
        UNLOADING,
        stop("0P1") | to(v1V1="NEUTRAL", v2V1="DOWN") | {"0Z3": {"fluid_volume": "5 in^3"}},
    ),
    "brakes taking up": (
        UNLOADING,
        to(v1V1="NEUTRAL", v3V3="PRESSED", v3V4="PRESSED")
        | {c: {"extension": "0.05 in"} for c in ("3A1", "3A2")},
    ),
    "one brake on": (
        UNLOADING,
        to(v1V1="NEUTRAL", v3V3="PRESSED") | {"3A1": {"extension": "0.15 in"}},
    ),
    "brake let go": (UNLOADING, to(v1V1="NEUTRAL") | {"3A1": {"extension": "0.15 in"}}),
    "accumulator released": (UNLOADING, stop("0P1") | to(v1V1="NEUTRAL", v0V3="RELEASE")),
    "gear falling": (FALLING, {}),
    "gear falling, selector at up": (FALLING, to(v1V1="UP")),
    "gear falling, selector neutral": (FALLING, to(v1V1="NEUTRAL")),
    "gear held by its locks": (FALLING, at("0 in", *LEGS, "1A3")),
    "gear down": (FALLING, at("10 in", *LEGS) | at("8 in", "1A3")),
    "engine pump raising": (FALLING, NORMAL | run("0P1") | to(v1V1="UP")),
    "engine pump lowering": (FALLING, NORMAL | run("0P1")),
    "engine pump at cut-off": (FALLING, NORMAL | run("0P1") | to(v1V1="NEUTRAL")),
    "engine pump on a release valve left open": (FALLING, run("0P1")),
    "hand pump lowering a falling gear": (FALLING, NORMAL | run("0P2")),
    "steering left": (FALLING, NORMAL | run("0P1") | to(v1V1="NEUTRAL", v3V1="LEFT")),
    "steering right at the stop": (
        FALLING,
        NORMAL | run("0P1") | to(v1V1="NEUTRAL", v3V1="RIGHT") | {"3A1": {"extension": "0 in"}},
    ),
    "flaps down with the engine pump": (
        FALLING,
        NORMAL | run("0P1") | to(v1V1="NEUTRAL", v2V1="DOWN"),
    ),
    "flaps up with the engine pump": (
        FALLING,
        NORMAL | run("0P1") | to(v1V1="NEUTRAL", v2V1="UP"),
    ),
}
