"""Every single failure against every function: what it costs.

The method is that of a failure modes and effects analysis (SAE ARP4761, as method): one
failure mode of one component or line at a time, and each function of the circuit (its
requirements and procedures) looked at with it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from analysis.approximate import about_percent
from analysis.circuit import Circuit
from analysis.errors import CircuitError, EditError
from analysis.failure_effects import effect_on_procedure, effects_on_requirements
from analysis.failure_modes import Failure, find_failures, read_failures
from analysis.failure_reference import Reference, refer
from analysis.failure_workers import Progress, share_out
from analysis.findings import Verdict
from analysis.passages import ACTUATORS
from analysis.preparation import prepare
from analysis.procedures import find_procedure
from analysis.recording import Recording
from analysis.requirements import evaluate_one
from analysis.series_ways import alike
from analysis.variants import with_changes
from analysis.words import listed

_REFERENCE_SHARE = 0.1
"""Share of the progress that the runs without failures take."""


@dataclass(frozen=True)
class Case:
    """One failure, and the names of the functions it costs or degrades; `reasons` by name.

    `shares` tells of degraded functions by name how much `slower` or `weaker` they are: 0.2
    for a fifth more time, or a fifth less pressure or force. `digits` tells how many
    significant digits of each are known (see `analysis.degradation`).
    """

    subject: str
    mode: str
    lost: tuple[str, ...]
    degraded: tuple[str, ...]
    reasons: Mapping[str, str] = field(default_factory=dict)
    shares: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    digits: Mapping[str, Mapping[str, int]] = field(default_factory=dict)

    def as_json(self) -> dict[str, Any]:
        """The machine form of the contract."""
        return {
            "subject": self.subject,
            "mode": self.mode,
            "lost": list(self.lost),
            "degraded": list(self.degraded),
        }

    def details(self) -> Iterator[dict[str, Any]]:
        """Why each function is lost or degraded, and by how much, for machines to read.

        The shares are not rounded; `digits` beside them says how far they are to be believed.
        """
        for function, reason in self.reasons.items():
            detail: dict[str, Any] = {"subject": self.subject, "mode": self.mode}
            detail |= {"function": function, "reason": reason} | dict(self.shares.get(function, {}))
            if function in self.digits:
                detail["digits"] = dict(self.digits[function])
            yield detail

    def how_much(self, name: str) -> str:
        """By how much a degraded function is worse: `about 7 % slower and about 12 % weaker`."""
        digits = self.digits.get(name, {})
        return " and ".join(
            f"{about_percent(share, digits.get(what, 1))} {what}"
            for what, share in self.shares.get(name, {}).items()
        )


@dataclass(frozen=True)
class FailureTable:
    """All cases in the order of the file; functions are requirements, then procedures.

    `failing` holds the functions that do not hold even without a failure, and why; no
    case counts them as lost.
    """

    functions: tuple[str, ...]
    cases: tuple[Case, ...]
    failing: Mapping[str, str] = field(default_factory=dict)

    @property
    def single_points(self) -> tuple[str, ...]:
        """The subjects with a failure mode that costs a function, in the order of the file."""
        return tuple(dict.fromkeys(case.subject for case in self.cases if case.lost))

    def as_json(self) -> dict[str, Any]:
        """The machine form of the contract, and why each function is lost or degraded.

        `failing` is there only if something fails without a failure.
        """
        form: dict[str, Any] = {
            "functions": list(self.functions),
            "cases": [case.as_json() for case in self.cases],
            "single_points": list(self.single_points),
            "details": [detail for case in self.cases for detail in case.details()],
        }
        if self.failing:
            form["failing"] = dict(self.failing)
        return form


@dataclass(frozen=True)
class _Functions:
    """The functions of a circuit, ready to be judged under a failure; sent to the workers."""

    circuit: Circuit
    names: tuple[str, ...]
    references: dict[int, Reference]
    """The procedures, by their place in `names`."""
    requirements: dict[int, Mapping[str, Any]] = field(default_factory=dict)
    """By number from 1, those that hold, without those of kind `survives`."""
    surviving: dict[int, tuple[int, frozenset[Failure]]] = field(default_factory=dict)
    """Place of a `survives` requirement -> that of its procedure, and what it is about."""
    varied: dict[int, tuple[Circuit, Reference, frozenset[Failure]]] = field(default_factory=dict)
    """The same of one that has a `set`: its procedure is run on a circuit of its own."""
    failing: dict[str, str] = field(default_factory=dict)


def failures(
    circuit: Circuit, *, progress: Progress | None = None, workers: int | None = None
) -> FailureTable:
    """Every failure mode of every component and line against every function.

    Parameters
    ----------
    circuit
        Not changed.
    progress
        Called with the share done, from 0 to 1; what it raises (as Ctrl-C does) ends the
        work at once.
    workers
        How many processes share the work; one a core if not given.

    Returns
    -------
    FailureTable
        A function is lost if it does not hold with the failure, degraded if a procedure
        meets an expectation more than 5 % later than without, or if a pressure, force or
        effort that must come to a level comes to 5 % less than without, in the time it has.

    Notes
    -----
    A failure that the circuit is drawn with is there in every case. A valve that is stuck
    stays where it is drawn. Where a procedure itself begins with a failure of the
    same element, its own stands. A `survives` requirement is lost by the failures that it
    names and that its procedure does not survive.
    """
    # loaded here, the solver need not be loaded in every process that is forked off
    prepare()
    plain = circuit.copy()
    cases = find_failures(plain)
    early = None if progress is None else (lambda share: progress(share * _REFERENCE_SHARE))
    functions = _prepare(plain, cases, workers, early)
    late = (
        None
        if progress is None
        else (lambda share: progress(_REFERENCE_SHARE + share * (1.0 - _REFERENCE_SHARE)))
    )
    groups = alike(plain, cases)
    judged = share_out(partial(_judge_alike, functions), groups, workers=workers, progress=late)
    row_of = {
        case: row
        for group, rows in zip(groups, judged, strict=True)
        for case, row in zip(group, rows, strict=True)
    }
    return FailureTable(functions.names, tuple(row_of[case] for case in cases), functions.failing)


def survives(
    circuit: Circuit,
    requirement: Mapping[str, Any],
    name: str,
    *,
    progress: Progress | None = None,
) -> Verdict:
    """The verdict on a `survives` requirement: its procedure is run with each failure.

    Parameters
    ----------
    requirement
        As it stands in the file. Its `failures` are ids (all failure modes of each) or
        pairs `[id, mode]`; if there are none, every failure in the circuit but those of
        the target: of the components in `targets`, else of the actuators whose signals
        the procedure's expectations name.
    progress
        Called with the share done, from 0 to 1.
    """
    try:
        about = _about(circuit, requirement)
        reference = refer(circuit, str(requirement.get("procedure")), about)
    except CircuitError as error:
        return Verdict(name, False, f"It cannot be shown: {error}.")
    if not reference.holds:
        why = f"'{reference.name}' fails without any failure: {reference.message}."
        return Verdict(name, False, why)
    work = partial(effect_on_procedure, circuit.copy(), reference)
    effects = share_out(work, about, progress=progress)
    fatal = [f for f, effect in zip(about, effects, strict=True) if effect.severity == "lost"]
    if fatal:
        shown = listed(f"{f.subject} {f.mode.replace('_', ' ')}" for f in fatal[:5])
        more = f" (and {len(fatal) - 5} more)" if len(fatal) > 5 else ""
        first = next(e.reason for e in effects if e.severity == "lost")
        return Verdict(
            name,
            False,
            f"'{reference.name}' does not survive {shown}{more}: {first}.",
            tuple(dict.fromkeys(f.subject for f in fatal)),
        )
    return Verdict(name, True, f"'{reference.name}' survives each of {len(about)} single failures.")


def _about(circuit: Circuit, requirement: Mapping[str, Any]) -> tuple[Failure, ...]:
    """The failures a `survives` requirement is about."""
    if not requirement.get("procedure"):
        raise EditError("it names no procedure")
    procedure = find_procedure(circuit, str(requirement["procedure"]))
    if requirement.get("failures"):
        return read_failures(circuit, list(requirement["failures"]))
    owners = {str(target).rpartition(".")[0] for target in requirement.get("targets") or ()}
    if not owners:
        named = {e.condition.signal.partition(".")[0] for e in procedure.expectations}
        owners = {
            identifier
            for identifier in named
            if identifier in circuit.components and circuit.components[identifier].kind in ACTUATORS
        }
    return tuple(f for f in find_failures(circuit) if f.subject not in owners)


def _prepare(
    circuit: Circuit,
    cases: tuple[Failure, ...],
    workers: int | None,
    progress: Progress | None,
) -> _Functions:
    """Judge every function without failures, so that only what holds is judged with them."""
    procedures = [str(p["name"]) for p in circuit.procedures]
    runs = share_out(
        partial(_refer, circuit, cases), procedures, workers=workers, progress=progress
    )
    count = len(circuit.requirements)
    titles = [str(r.get("name") or f"Requirement {n}") for n, r in _numbered(circuit)]
    names = _told_apart([*titles, *procedures])
    functions = _Functions(circuit, names, references=dict(enumerate(runs, start=count)))
    for number, requirement in _numbered(circuit):
        if requirement.get("kind") == "survives":
            why = _note_survives(functions, number, requirement)
        else:
            verdict = evaluate_one(circuit, requirement, number)
            why = "" if verdict.holds else verdict.message
            if verdict.holds:
                functions.requirements[number] = requirement
        if why:
            functions.failing[names[number - 1]] = why
    for index, reference in functions.references.items():
        if not reference.holds:
            functions.failing[names[index]] = reference.message
    return functions


def _numbered(circuit: Circuit) -> Iterator[tuple[int, Mapping[str, Any]]]:
    return iter(enumerate(circuit.requirements, start=1))


def _told_apart(names: list[str]) -> tuple[str, ...]:
    """The names, a number added to those that stand twice."""
    found: list[str] = []
    for name in names:
        other, count = name, 1
        while other in found:
            count += 1
            other = f"{name} ({count})"
        found.append(other)
    return tuple(found)


def _note_survives(functions: _Functions, number: int, requirement: Mapping[str, Any]) -> str:
    """Remember what a `survives` requirement is about; why it fails without any failure."""
    changes = requirement.get("set")
    try:
        variant = with_changes(functions.circuit, changes).copy() if changes else functions.circuit
        about = _about(variant, requirement)
        own = refer(variant, str(requirement["procedure"]), about) if changes else None
    except CircuitError as error:
        return f"It cannot be shown: {error}."
    if own is not None:
        if not own.holds:
            return f"'{own.name}' fails without any failure: {own.message}"
        functions.varied[number - 1] = (variant, own, frozenset(about))
        return ""
    for index, reference in functions.references.items():
        if reference.name == requirement["procedure"]:
            if not reference.holds:
                return f"'{reference.name}' fails without any failure: {reference.message}"
            functions.surviving[number - 1] = (index, frozenset(about))
    return ""


def _refer(circuit: Circuit, cases: tuple[Failure, ...], name: str) -> Reference:
    try:
        return refer(circuit, name, cases)
    except CircuitError as error:
        return Reference(name, False, str(error))


def _judge_alike(functions: _Functions, group: tuple[Failure, ...]) -> list[Case]:
    """The rows of failures that come to the same in a rough run."""
    known: dict[str, Recording] = {}
    return [_judge(functions, failure, known) for failure in group]


def _judge(
    functions: _Functions, failure: Failure, known: dict[str, Recording] | None = None
) -> Case:
    """One row of the table; `known` as in `effect_on_procedure`."""
    circuit = functions.circuit
    effects = {
        number - 1: effect
        for number, effect in effects_on_requirements(
            circuit, functions.requirements, failure
        ).items()
    }
    for index, reference in functions.references.items():
        if reference.holds:
            effects[index] = effect_on_procedure(circuit, reference, failure, known)
    for index, (procedure, about) in functions.surviving.items():
        if failure in about and effects[procedure].severity == "lost":
            effects[index] = effects[procedure]
    for index, (variant, reference, about) in functions.varied.items():
        if failure in about:
            effect = effect_on_procedure(variant, reference, failure)
            if effect.severity == "lost":
                effects[index] = effect

    def those(severity: str) -> tuple[str, ...]:
        return tuple(functions.names[i] for i in sorted(effects) if effects[i].severity == severity)

    reasons = {functions.names[i]: effects[i].reason for i in sorted(effects) if effects[i].reason}
    worse = {functions.names[i]: effects[i] for i in sorted(effects) if effects[i].shares}
    return Case(
        failure.subject,
        failure.mode,
        those("lost"),
        those("degraded"),
        reasons,
        shares={name: effect.shares for name, effect in worse.items()},
        digits={name: effect.digits for name, effect in worse.items()},
    )
