"""A procedure without any failure: what runs with one are measured by, and go on from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from analysis.circuit import Circuit
from analysis.failure_modes import Failure, moves_stuck_lever
from analysis.failure_screen import ScreeningMotion
from analysis.procedures import Procedure, find_procedure
from analysis.recording import Recording
from analysis.runs import Stage, run

Changes = Mapping[str, Mapping[str, Any]]


@dataclass(frozen=True)
class Course:
    """A run of a procedure without any failure, at one pace.

    `times` are those at which its expectations are met [s], None for those that hold
    throughout; `strengths` what the pressures and forces among them come to [SI], None for
    others, empty where none was weighed; `stages` are where it stood when steps had been
    worked, each with the failures that would have changed nothing of note up to there.
    """

    is_rough: bool
    times: tuple[float | None, ...] = ()
    strengths: tuple[float | None, ...] = ()
    stages: tuple[tuple[Stage, frozenset[Failure]], ...] = ()

    def last_same(self, failure: Failure) -> Stage | None:
        """The last stage up to which a run with the failure goes the same way."""
        same = (stage for stage, idle in reversed(self.stages) if failure in idle)
        return next(same, None)

    def of(self, expectations: Sequence[int]) -> Course:
        """The same, of a procedure that has only these of the expectations, by number."""
        times, strengths = (
            tuple(values[number] for number in expectations) if values else ()
            for values in (self.times, self.strengths)
        )
        return replace(self, times=times, strengths=strengths)


@dataclass(frozen=True)
class Reference:
    """A procedure without any failure: whether it holds, and what cannot matter to it.

    `fine` and `rough` are its two courses; `idle` are failures that were seen to change
    nothing of note.
    """

    name: str
    holds: bool
    message: str
    fine: Course = Course(False)
    rough: Course = Course(True)
    idle: frozenset[Failure] = field(default_factory=frozenset)


def refer(circuit: Circuit, name: str, failures: tuple[Failure, ...]) -> Reference:
    """Run a procedure without failures, and find those that cannot matter to it.

    Raises
    ------
    CircuitError
        If there is no such procedure, or it cannot be read.
    """
    recording, idle, fine = _follow(circuit, name, failures, roughly=False)
    if not recording.holds:
        return Reference(name, False, what_failed(recording))
    left = tuple(failure for failure in failures if failure not in idle)
    _, _, rough = _follow(circuit, name, left, roughly=True)
    return Reference(name, True, "", fine, rough, idle)


def what_failed(recording: Recording) -> str:
    """Why a run does not hold, in words; empty if it does."""
    if recording.message:
        return recording.message
    failing = [e for e in recording.expectations if not e.holds]
    return f"{failing[0].text}: not so" if failing else ""


def _follow(
    circuit: Circuit, name: str, failures: tuple[Failure, ...], *, roughly: bool
) -> tuple[Recording, frozenset[Failure], Course]:
    """The procedure's run, the failures that changed nothing in it, and its course."""
    procedure = find_procedure(circuit, name)
    screens: list[ScreeningMotion] = []
    stages: list[tuple[Stage, frozenset[Failure]]] = []

    def screening(twin: Circuit) -> ScreeningMotion:
        screens.append(ScreeningMotion(twin, failures))
        return screens[0]

    def note(stage: Stage) -> None:
        worked = list(_changes(procedure))[: 1 + stage.place.done]
        stages.append((stage, _unseen(procedure, worked, screens[0].idle_before_levers())))

    recording = run(
        circuit,
        procedure,
        signals=[],
        stop_when_decided=True,
        roughly=roughly,
        weigh=True,
        motion=screening,
        at_stage=note,
    )
    seen = _unseen(procedure, list(_changes(procedure)), screens[0].idle())
    own = {f for f in failures if _is_part_of(procedure, f) and not _is_looked_at(procedure, f)}
    strengths = tuple(e.strength for e in recording.expectations)
    course = Course(roughly, _times(recording), strengths, tuple(stages))
    return recording, seen | own, course


def _unseen(
    procedure: Procedure, worked: Sequence[Changes], idle: frozenset[Failure]
) -> frozenset[Failure]:
    """Those of the idle failures that neither levers worked so far nor expectations lay open."""
    return frozenset(
        failure
        for failure in idle
        if not any(moves_stuck_lever(changes, failure) for changes in worked)
        and not _is_looked_at(procedure, failure)
    )


def _times(recording: Recording) -> tuple[float | None, ...]:
    return tuple(e.time if e.by is not None else None for e in recording.expectations)


def _changes(procedure: Procedure) -> Iterator[Changes]:
    yield procedure.start
    for step in procedure.steps:
        yield step.changes


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
