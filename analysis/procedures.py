"""Procedures: what an operator does, and what must come of it.

A procedure starts the circuit in a state, sets levers, faults and values step by step, at
a time or after a signal has got somewhere, and lists expectations of signals.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from math import inf
from typing import Any

from analysis.circuit import Circuit, is_state
from analysis.errors import CircuitError, EditError, UnknownElement
from analysis.part_readings import OPENED_BY_PRESSURE
from analysis.quantities import parse_quantity
from analysis.stuck_levers import is_held
from analysis.values import resolve

Signals = Mapping[str, float | str | bool | None]

STRENGTHS = ("pressure", "force", "torque", "effort")
"""Signals of which more is stronger, where at least so much is expected."""

DEFAULT_DURATION = 20.0
"""Length of a run that nothing else ends [s]."""

_DIMENSIONS = {
    "extension": "length",
    "velocity": "velocity",
    "force": "force",
    "torque": "torque",
    "pressure": "pressure",
    "inflow": "flow",
    "flow": "flow",
    "volume": "volume",
    "fluid_volume": "volume",
    "strokes": "number",
    "effort": "force",
}


_ROTARY = ("semi_rotary_actuator", "hydraulic_motor")
_CYLINDERS = ("cylinder", "cylinder_single_acting", "cylinder_double_rod")

_OWNERS = {
    "extension": (*_CYLINDERS, "semi_rotary_actuator"),
    "velocity": (*_CYLINDERS, *_ROTARY),
    "force": _CYLINDERS,
    "torque": _ROTARY,
    "volume": ("reservoir",),
    "fluid_volume": ("accumulator",),
    "strokes": ("hand_pump",),
    "effort": ("hand_pump",),
    "lock": ("cylinder",),
    "open": OPENED_BY_PRESSURE,
    "flow": ("line",),
}
"""Which kinds have a signal of that name; the name alone would be looked for in vain."""


def signal_dimension(circuit: Circuit, signal: str) -> str:
    """The dimension of a signal's values (`word` for locks and open valves).

    Raises
    ------
    UnknownElement
        If the circuit has no such signal.
    """
    owner, _, name = signal.rpartition(".")
    if name in ("pressure", "inflow"):
        circuit.split_port(owner)
        return _DIMENSIONS[name]
    if name not in _OWNERS or owner not in circuit:
        raise UnknownElement(f"there is no signal '{signal}'; write it like 1A1.extension")
    kind = circuit.components[owner].kind if owner in circuit.components else "line"
    if kind not in _OWNERS[name]:
        own = [known for known, owners in _OWNERS.items() if kind in owners]
        has = f"it has {', '.join(own)}" if own else "name one of its ports"
        raise UnknownElement(f"there is no signal '{signal}': {owner} is a {kind}; {has}")
    if name in ("lock", "open"):
        return "word"
    if kind in _ROTARY and name in ("extension", "velocity"):
        return "angle" if name == "extension" else "speed"
    return _DIMENSIONS[name]


@dataclass
class Condition:
    """A test of one signal: at least, at most [SI], or is (a word)."""

    signal: str
    at_least: float | None = None
    at_most: float | None = None
    word: str | bool | None = None

    @property
    def slack(self) -> float:
        """What a value may be short of its level by, from rounding."""
        return 1e-9 * max(abs(self.at_least or 0.0), abs(self.at_most or 0.0))

    def holds(self, signals: Signals) -> bool:
        """Whether the signal's present value passes; a value that is unknown does not."""
        value = signals.get(self.signal)
        if value is None:
            return False
        if self.word is not None:
            return value == self.word
        if isinstance(value, str):
            return False
        slack = self.slack
        low = self.at_least is None or value >= self.at_least - slack
        return low and (self.at_most is None or value <= self.at_most + slack)

    def miss(self, signals: Signals) -> float:
        """By what share of the level the present value misses it; infinite for words."""
        value = signals.get(self.signal)
        if self.word is not None or value is None or isinstance(value, str):
            return inf
        short = 0.0 if self.at_least is None else self.at_least - value
        over = 0.0 if self.at_most is None else value - self.at_most
        if max(short, over) <= 0.0:
            return 0.0
        level = self.at_least if short >= over else self.at_most
        return max(short, over) / abs(level) if level else inf

    def reached(self, before: Signals, after: Signals) -> float:
        """Which share of the way from `before` to `after` the condition came to hold at."""
        old, new = before.get(self.signal), after.get(self.signal)
        if not isinstance(old, float) or not isinstance(new, float) or old == new:
            return 1.0
        level = self.at_least if self.at_least is not None and old < new else self.at_most
        if level is None:
            return 1.0
        return min(max((level - old) / (new - old), 0.0), 1.0)

    def ahead(self, before: Signals, after: Signals) -> float:
        """How many times the way from `before` to `after` is still to go until it holds.

        Infinite where the signal does not move towards it, or is a word.
        """
        old, new = before.get(self.signal), after.get(self.signal)
        if not isinstance(old, float) or not isinstance(new, float) or old == new:
            return inf
        level = self.at_least if new > old else self.at_most
        to_go = inf if level is None else (level - new) / (new - old)
        return to_go if to_go > 0.0 else inf


@dataclass
class Step:
    """One step: at a time [s], or some wait after a condition; and what it sets."""

    changes: dict[str, dict[str, Any]]
    at: float | None = None
    after: Condition | None = None
    wait: float = 0.0


@dataclass
class Expectation:
    """A condition that must hold at some time up to `by` [s], or throughout.

    `missed` is the share of its level by which the value missed it: when it first did, or
    when it was last looked at. `strength` is the greatest value in time of what is expected to
    come to a level (a pressure, force, torque or effort), the least of what must stay at one.
    More than `enough` of it is of no account.
    """

    text: str
    condition: Condition
    by: float | None = None
    holds: bool | None = None
    time: float | None = None
    missed: float = inf
    strength: float | None = None
    enough: float = inf

    @cached_property
    def is_of_strength(self) -> bool:
        """Whether more of what is expected would be better: a force, not a place or a limit."""
        kind = self.condition.signal.rpartition(".")[2]
        return kind in STRENGTHS and (self.condition.at_least or 0.0) > 0.0

    def look(self, time: float, signals: Signals, before_time: float, before: Signals) -> None:
        """Take the signals at this time into account, and those at the step before it."""
        if self.holds and self.by is not None and not self.is_of_strength:
            return
        passed = self.condition.holds(signals)
        if self.by is None:
            if not passed and self.holds is not False:
                self.holds, self.time = False, time
                self.missed = self.condition.miss(signals)
        elif passed and self.holds is None:
            share = self.condition.reached(before, signals)
            reached = before_time + share * (time - before_time)
            if reached <= self.by + 1e-9:
                self.holds, self.time = True, reached
        elif self.holds is None:
            self.missed = self.condition.miss(signals)
        if self.is_of_strength and (self.by is None or time <= self.by + 1e-9):
            self.weigh(signals.get(self.condition.signal))

    def weigh(self, value: float | str | bool | None) -> None:
        """Take a value into account that came up in time."""
        if not isinstance(value, float):
            return
        if self.strength is not None:
            value = min(value, self.strength) if self.by is None else max(value, self.strength)
        self.strength = value

    def close(self) -> None:
        """The run is over: what was not met by then is not met."""
        if self.holds is None:
            self.holds = self.by is None


@dataclass
class Procedure:
    """A procedure in SI, ready to run."""

    name: str
    start: dict[str, dict[str, Any]] = field(default_factory=dict)
    steps: list[Step] = field(default_factory=list)
    expectations: list[Expectation] = field(default_factory=list)

    @property
    def duration(self) -> float:
        """The latest `at` or `by`, else the default [s]."""
        times = [s.at for s in self.steps if s.at is not None]
        times += [e.by for e in self.expectations if e.by is not None]
        return max(times, default=0.0) or DEFAULT_DURATION


def find_procedure(circuit: Circuit, name: str) -> Procedure:
    """The circuit's procedure of that name.

    Raises
    ------
    UnknownElement
        If there is none; the message lists those there are.
    """
    for index, raw in enumerate(circuit.procedures):
        if raw.get("name") == name:
            return parse_procedure(circuit, raw, f"procedures[{index}]")
    names = ", ".join(str(p.get("name")) for p in circuit.procedures) or "none"
    raise UnknownElement(f"there is no procedure '{name}'; the file has {names}")


def parse_procedure(circuit: Circuit, raw: Mapping[str, Any], place: str = "") -> Procedure:
    """A procedure as it stands in a file, in SI; raises CircuitError with the place."""
    steps = [
        _step(circuit, step, f"{place}.steps[{i}]") for i, step in enumerate(raw.get("steps", ()))
    ]
    expectations = [
        _expectation(circuit, item, f"{place}.expect[{i}]")
        for i, item in enumerate(raw.get("expect", ()))
    ]
    start = dict(raw.get("start", {}))
    _check_there(circuit, start, f"{place}.start")
    return Procedure(str(raw.get("name", "")), start, steps, expectations)


def apply_changes(circuit: Circuit, changes: Mapping[str, Mapping[str, Any]]) -> None:
    """Set settings and states by name, as `start` and `set` list them; raises CircuitError.

    A lever that is stuck stays where it is.
    """
    for identifier, values in changes.items():
        element = circuit.element(identifier)
        held = {name for name in values if is_held(element, values, name)}
        for name, value in values.items():
            state = name == "fault" or (
                identifier in circuit.components
                and is_state(circuit.components[identifier].declared, name, value)
            )
            declared = element.state_of(name) if state else element.setting_of(name)
            labels = getattr(element, "labels", {}) if name == "position" else {}
            resolve(value, declared, f"{identifier}.{name}", labels)
            if name not in held:
                circuit.set_value(identifier, name, value, state=state)


def _check_there(circuit: Circuit, changes: Mapping[str, Any], place: str) -> None:
    for identifier in changes:
        if identifier not in circuit:
            raise EditError(
                f"there is no component or line '{identifier}'; draw it, or set another",
                f"{place}.{identifier}",
            )


def _step(circuit: Circuit, raw: Mapping[str, Any], place: str) -> Step:
    step = Step(dict(raw.get("set", {})))
    _check_there(circuit, step.changes, f"{place}.set")
    try:
        if "at" in raw:
            step.at = parse_quantity(raw["at"], "time")
        if "after" in raw:
            step.after = _condition(circuit, raw["after"])
        if "wait" in raw:
            step.wait = parse_quantity(raw["wait"], "time")
    except CircuitError as error:
        raise EditError(error.message, place) from error
    return step


def _condition(circuit: Circuit, raw: Mapping[str, Any]) -> Condition:
    signal = str(raw["signal"])
    dimension = signal_dimension(circuit, signal)
    condition = Condition(signal)
    if "is" in raw:
        condition.word = raw["is"]
    for key in ("at_least", "at_most"):
        if key in raw:
            value = raw[key]
            number = isinstance(value, int | float)
            if number and dimension != "number":
                raise EditError(f"{value} has no unit; write {key} with one, in quotes")
            setattr(condition, key, float(value) if number else parse_quantity(value, dimension))
    return condition


def _expectation(circuit: Circuit, raw: Mapping[str, Any], place: str) -> Expectation:
    try:
        condition = _condition(circuit, raw)
        by = None if raw.get("throughout") else parse_quantity(raw["by"], "time")
    except CircuitError as error:
        raise EditError(error.message, place) from error
    return Expectation(_text(raw), condition, by)


def _text(raw: Mapping[str, Any]) -> str:
    """The expectation in words, with the quantities as the user wrote them."""
    words = [str(raw["signal"])]
    if "is" in raw:
        words.append(f"is {raw['is']}")
    if "at_least" in raw:
        words.append(f"at least {raw['at_least']}")
    if "at_most" in raw:
        words.append(f"at most {raw['at_most']}")
    words.append("throughout" if raw.get("throughout") else f"by {raw['by']}")
    return " ".join(words)
