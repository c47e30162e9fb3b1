"""What one failure does to one function: to a requirement, or to a procedure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any, Literal

from analysis.begin_pressures import Begin
from analysis.circuit import Circuit
from analysis.degradation import ask_for, in_words, largest, shortfalls
from analysis.failure_modes import (
    Failure,
    under_failure,
    with_failure,
    without_stuck_lever,
)
from analysis.failure_reference import Course, Reference, what_failed
from analysis.motion import Motion
from analysis.passages import SOURCES, passages_of
from analysis.port_graph import PortGraph
from analysis.procedures import find_procedure
from analysis.recording import Recording
from analysis.requirements import evaluate_one
from analysis.runs import Stage, run
from analysis.ways import is_dead, sources_of

_NEAR = 0.1
"""A function that is lost by a value that misses its level by less than this share is looked at
again in a run that is less rough."""

Severity = Literal["kept", "degraded", "lost"]


@dataclass(frozen=True)
class Effect:
    """What a failure does to a function: how grave it is, why, and by how much.

    `shares` has `slower` and `weaker`, where it is degraded so: 0.2 for a fifth; `digits` how
    many significant digits of each are known.
    """

    severity: Severity
    reason: str = ""
    shares: Mapping[str, float] = field(default_factory=dict)
    digits: Mapping[str, int] = field(default_factory=dict)


KEPT = Effect("kept")


# -- procedures ---------------------------------------------------------------------------


def effect_on_procedure(
    circuit: Circuit,
    reference: Reference,
    failure: Failure,
    known: dict[str, Recording] | None = None,
) -> Effect:
    """What a failure does to a procedure that holds without it; the procedure is run.

    Parameters
    ----------
    known
        Rough runs, by procedure, with a failure that comes to the same (`series_ways.alike`):
        where such a run is clear, there need not be another one. Filled further.
    """
    if failure in reference.idle:
        return KEPT
    rough, fine = reference.rough, reference.fine
    recording = known.get(reference.name) if known is not None else None
    if recording is not None and _unclear(recording, rough) == []:
        return _effect(circuit, recording, rough)
    trial = Trial(circuit, reference, failure)
    recording = trial.run(rough)
    if known is not None:
        known[reference.name] = recording
    unclear = _unclear(recording, rough)
    if unclear is None:
        return _effect(circuit, trial.run(fine), fine)
    if not unclear:
        return _effect(circuit, recording, rough)
    # what was clear need not be looked at again
    return _effect(circuit, trial.run(fine, unclear), fine.of(unclear))


def _unclear(recording: Recording, course: Course) -> list[int] | None:
    """The expectations, by number, that a rough run comes too near to the edge with.

    None of them if it is clear without what has come of the procedure; None if the run as a whole
    cannot be relied on.
    """
    if recording.message or _is_lost_narrowly(recording):
        return None
    if not recording.holds:
        return []
    found = list(shortfalls(recording.expectations, course))
    unclear = [f.number for f in found if f.is_unclear(recording.expectations[f.number])]
    if any(f.counts and f.number not in unclear for f in found):
        return []
    return unclear


def _is_lost_narrowly(recording: Recording) -> bool:
    """Whether a rough run misses a level by too little to be relied on."""
    return any(e.missed < _NEAR for e in recording.expectations if not e.holds)


class Trial:
    """A procedure with a failure, to be run at one pace or another."""

    def __init__(self, circuit: Circuit, reference: Reference, failure: Failure) -> None:
        self.circuit, self.reference, self.failure = circuit, reference, failure
        self._begin: Begin | None = None

    def run(self, course: Course, looked_at: Sequence[int] | None = None) -> Recording:
        """Run it at the pace of a course of it without any failure.

        Up to the last stage of that course at which the failure had changed nothing, the two
        are the same: the run goes on from there. It ends when the expectations `looked_at`, by
        number, are decided; all, if none are given.
        """
        stage = course.last_same(self.failure)
        circuit = stage.moment.circuit if stage is not None else self.circuit
        failed = with_failure(circuit, self.failure, shared=True)
        procedure = under_failure(find_procedure(failed, self.reference.name), self.failure)
        end = procedure.duration
        ask_for(procedure.expectations, course)
        if looked_at is not None:
            procedure.expectations = [procedure.expectations[number] for number in looked_at]
            stage = stage.seeing(looked_at) if stage is not None else None
        return run(
            failed,
            procedure,
            until=end,
            signals=[],
            stop_when_decided=True,
            roughly=course.is_rough,
            weigh=True,
            motion=partial(self._motion, stage),
            stage=stage,
        )

    def _motion(self, stage: Stage | None, failed: Circuit) -> Motion:
        if stage is not None:
            return Motion(failed, shared=True, moment=stage.moment)
        motion = Motion(failed, shared=True, begin=self._begin)
        self._begin = motion.begin
        return motion


def _effect(circuit: Circuit, recording: Recording, course: Course) -> Effect:
    """What comes of a run, beside the course that the procedure takes without the failure."""
    if not recording.holds:
        return Effect("lost", what_failed(recording))
    found = [f for f in shortfalls(recording.expectations, course) if f.counts]
    if not found:
        return KEPT
    worst = max(found, key=lambda f: max(f.slower, f.weaker))
    expectation = recording.expectations[worst.number]
    words = ", ".join(in_words(circuit, expectation, worst, course))
    return Effect("degraded", f"{expectation.text}: {words}", *largest(found))


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
