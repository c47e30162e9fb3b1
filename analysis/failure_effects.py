"""What one failure does to one function: to a requirement, or to a procedure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import partial
from typing import Any, Literal

from analysis.begin_pressures import Begin
from analysis.circuit import Circuit
from analysis.failure_modes import (
    Failure,
    moves_stuck_lever,
    under_failure,
    with_failure,
    without_stuck_lever,
)
from analysis.failure_screen import ScreeningMotion
from analysis.motion import Motion
from analysis.passages import SOURCES, passages_of
from analysis.port_graph import PortGraph
from analysis.procedures import Expectation, Procedure, find_procedure
from analysis.recording import Recording
from analysis.requirements import evaluate_one
from analysis.runs import run
from analysis.ways import is_dead, sources_of

LATER = 0.05
"""Share by which an expectation must be met later to count as degraded."""

_BLINK = 1e-3
"""Share of the time allowed below which "later" is of no account."""

_UNCLEAR = (0.04, 0.06)
_UNCLEAR_PRESSURE = (0.01, 0.3)
"""Delays by such shares are looked at again in a run that is less rough: `LATER` lies within."""
_NEAR = 0.1
"""So is a function that is lost by a value that misses its level by less than this share."""

_OF_PRESSURE = ("pressure", "effort", "force")

Severity = Literal["kept", "degraded", "lost"]


@dataclass(frozen=True)
class Effect:
    """What a failure does to a function: how grave it is, and why."""

    severity: Severity
    reason: str = ""


KEPT = Effect("kept")


@dataclass(frozen=True)
class Reference:
    """A procedure without any failure: what it needs, when, and what cannot matter to it.

    `times` are those at which its expectations are met [s], None for those that hold
    throughout, and `rough_times` those of a rough run; `idle` are failures that were seen
    to change nothing of note.
    """

    name: str
    holds: bool
    message: str
    times: tuple[float | None, ...] = ()
    rough_times: tuple[float | None, ...] = ()
    idle: frozenset[Failure] = field(default_factory=frozenset)


# -- procedures ---------------------------------------------------------------------------


def refer(circuit: Circuit, name: str, failures: tuple[Failure, ...]) -> Reference:
    """Run a procedure without failures, and find those that cannot matter to it."""
    procedure = find_procedure(circuit, name)
    screens: list[ScreeningMotion] = []

    def screening(twin: Circuit) -> ScreeningMotion:
        screens.append(ScreeningMotion(twin, failures))
        return screens[0]

    recording = run(circuit, procedure, signals=[], stop_when_decided=True, motion=screening)
    idle = set(screens[0].idle()) if recording.holds else set()
    for failure in failures:
        if _is_part_of(procedure, failure):
            idle.add(failure)
        elif any(moves_stuck_lever(changes, failure) for changes in _changes(procedure)):
            idle.discard(failure)
    idle -= {failure for failure in idle if _is_looked_at(procedure, failure)}
    roughly = run(
        circuit,
        name,
        signals=[],
        stop_when_decided=True,
        roughly=True,
        motion=partial(Motion, begin=screens[0].begin),
    )
    return Reference(
        name,
        recording.holds,
        what_failed(recording),
        _times(recording),
        _times(roughly),
        frozenset(idle),
    )


def _times(recording: Recording) -> tuple[float | None, ...]:
    return tuple(e.time if e.by is not None else None for e in recording.expectations)


def _changes(procedure: Procedure) -> list[dict[str, dict[str, Any]]]:
    return [procedure.start, *(step.changes for step in procedure.steps)]


def _is_looked_at(procedure: Procedure, failure: Failure) -> bool:
    """Whether the procedure looks at the element itself: its lock, its effort, its flow.

    A pressure at its ports and where it stands are those of the circuit all the same.
    """
    conditions = [e.condition for e in procedure.expectations]
    conditions += [step.after for step in procedure.steps if step.after is not None]
    owners = {
        c.signal.rpartition(".")[0]
        for c in conditions
        if c.signal.rpartition(".")[2] not in ("pressure", "extension", "velocity")
    }
    return any(owner.partition(".")[0] == failure.subject for owner in owners)


def _is_part_of(procedure: Procedure, failure: Failure) -> bool:
    """Whether the procedure begins with a failure of the same element anyway."""
    fault = procedure.start.get(failure.subject, {}).get("fault", "none")
    return fault not in ("none", None)


def effect_on_procedure(circuit: Circuit, reference: Reference, failure: Failure) -> Effect:
    """What a failure does to a procedure that holds without it; the procedure is run."""
    if failure in reference.idle:
        return KEPT
    begins: list[Begin] = []
    recording = _run_failed(circuit, reference, failure, roughly=True, begins=begins)
    times = reference.rough_times
    if _is_unclear(recording, times):
        recording = _run_failed(circuit, reference, failure, begins=begins)
        times = reference.times
    if not recording.holds:
        return Effect("lost", what_failed(recording))
    return _delay(recording, times)


def _run_failed(
    circuit: Circuit,
    reference: Reference,
    failure: Failure,
    *,
    roughly: bool = False,
    begins: list[Begin] | None = None,
) -> Recording:
    """The procedure with a failure; `begins` holds how it begins, or comes to hold it."""
    known = begins[0] if begins else None

    def make(twin: Circuit) -> Motion:
        motion = Motion(twin, shared=True, begin=known)
        if begins is not None and known is None:
            begins.append(motion.begin)
        return motion

    failed = with_failure(circuit, failure, shared=True)
    procedure = under_failure(find_procedure(failed, reference.name), failure)
    return run(
        failed,
        procedure,
        signals=[],
        stop_when_decided=True,
        roughly=roughly,
        motion=make,
    )


def _is_unclear(recording: Recording, times: tuple[float | None, ...]) -> bool:
    """Whether a rough run comes too near to a verdict's edge to be relied on."""
    if recording.message:
        return True
    if not recording.holds:
        return any(e.missed < _NEAR for e in recording.expectations if not e.holds)
    for expectation, late, good in _delays(recording, times):
        of_pressure = expectation.condition.signal.rpartition(".")[2] in _OF_PRESSURE
        low, high = _UNCLEAR_PRESSURE if of_pressure else _UNCLEAR
        if low * good < late < high * good:
            return True
    return False


def what_failed(recording: Recording) -> str:
    """Why a run does not hold, in words; empty if it does."""
    if recording.message:
        return recording.message
    failing = [e for e in recording.expectations if not e.holds]
    return f"{failing[0].text}: not so" if failing else ""


def _delay(recording: Recording, times: tuple[float | None, ...]) -> Effect:
    worst, reason = LATER, ""
    for expectation, late, good in _delays(recording, times):
        if late > worst * good:
            worst = late / good if good > 0.0 else worst
            reason = f"{expectation.text}: met after {expectation.time:.3g} s, not {good:.3g} s"
    return Effect("degraded", reason) if reason else KEPT


def _delays(
    recording: Recording, times: tuple[float | None, ...]
) -> Iterator[tuple[Expectation, float, float]]:
    """Expectations that are met later than without the failure: by how much, and when then [s]."""
    for expectation, good in zip(recording.expectations, times, strict=True):
        if good is None or expectation.time is None or expectation.by is None:
            continue
        late = expectation.time - good
        if late > _BLINK * expectation.by:
            yield expectation, late, good


# -- requirements -------------------------------------------------------------------------


def effects_on_requirements(
    circuit: Circuit, wanted: Mapping[int, Mapping[str, Any]], failure: Failure
) -> dict[int, Effect]:
    """What a failure does to requirements that hold without it, by their numbers.

    Those of kind `survives` are not looked at: they follow from their procedures.
    """
    stuck = {
        number: without_stuck_lever(requirement, failure) for number, requirement in wanted.items()
    }
    failed = with_failure(circuit, failure, shared=True)
    same = _carries_the_same(circuit, failed, failure.subject)
    plain: PortGraph | None = None
    effects: dict[int, Effect] = {}
    for number, requirement in stuck.items():
        if same and requirement.get("set") == wanted[number].get("set"):
            effects[number] = KEPT
            continue
        plain = plain or PortGraph(failed, sources_of(failed))
        verdict = evaluate_one(failed, requirement, number, plain)
        effects[number] = KEPT if verdict.holds else Effect("lost", verdict.message)
    return effects


def _carries_the_same(circuit: Circuit, failed: Circuit, subject: str) -> bool:
    """Whether fluid gets by the subject as it did before it failed."""
    component = circuit.components.get(subject)
    if component is not None:
        if component.kind in SOURCES and is_dead(circuit, subject) != is_dead(failed, subject):
            return False
        if "position" in component.declared.states and _is_roller(circuit, subject):
            return False
    return passages_of(circuit, subject) == passages_of(failed, subject)


def _is_roller(circuit: Circuit, subject: str) -> bool:
    return circuit.components[subject].settings.get("operator") == "roller"
