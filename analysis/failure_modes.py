"""Single failures: which there are, and a circuit that has one."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from analysis.circuit import LINE_FAULTS, Circuit
from analysis.elements import Component
from analysis.errors import EditError
from analysis.procedures import Procedure, Step
from analysis.words import listed


class Failure(NamedTuple):
    """One component or line, and how it fails."""

    subject: str
    mode: str


def modes_of(circuit: Circuit, subject: str) -> tuple[str, ...]:
    """The failure modes of a component or line; raises UnknownElement."""
    element = circuit.element(subject)
    return element.declared.faults if isinstance(element, Component) else LINE_FAULTS


def find_failures(circuit: Circuit) -> tuple[Failure, ...]:
    """Every failure mode of every component, then of every line, in the order of the file."""
    return tuple(
        Failure(element.id, mode)
        for element in circuit.elements()
        for mode in modes_of(circuit, element.id)
    )


def read_failures(circuit: Circuit, written: list[Any]) -> tuple[Failure, ...]:
    """The failures that a requirement lists: an id (all its modes), or `[id, mode]`.

    Raises
    ------
    EditError, UnknownElement
        For an id that is not there, or a mode that its kind does not have.
    """
    found: list[Failure] = []
    for item in written:
        if isinstance(item, str):
            found += [Failure(item, mode) for mode in modes_of(circuit, item)]
            continue
        if not isinstance(item, (list, tuple)) or len(item) != 2:
            raise EditError(f"{item!r} is no failure; write an id, or [id, mode]")
        subject, mode = str(item[0]), str(item[1])
        modes = modes_of(circuit, subject)
        if mode not in modes:
            raise EditError(f"{subject} has no failure mode '{mode}', but {listed(modes)}", subject)
        found.append(Failure(subject, mode))
    return tuple(dict.fromkeys(found))


def with_failure(circuit: Circuit, failure: Failure, *, shared: bool = False) -> Circuit:
    """A copy of the circuit that has the failure; `shared`: one by `Circuit.with_own`."""
    twin = circuit.with_own([failure.subject]) if shared else circuit.copy()
    twin.set_value(failure.subject, "fault", failure.mode, state=True)
    return twin


def under_failure(procedure: Procedure, failure: Failure) -> Procedure:
    """The procedure as it goes where something has failed.

    Nobody mends it in between, and a valve that is stuck is moved neither by `start` nor
    by a step: it stays where it is drawn. (A cylinder's extension is no lever: `start`
    puts it where the procedure begins.)
    """
    return Procedure(
        procedure.name,
        _kept(procedure.start, failure),
        [Step(_kept(s.changes, failure), s.at, s.after, s.wait) for s in procedure.steps],
        procedure.expectations,
    )


def moves_stuck_lever(changes: Mapping[str, Mapping[str, Any]], failure: Failure) -> bool:
    """Whether the changes would move a lever that the failure holds."""
    return failure.mode == "stuck" and "position" in changes.get(failure.subject, {})


def _kept(changes: Mapping[str, Mapping[str, Any]], failure: Failure) -> dict[str, dict[str, Any]]:
    """The changes without those that the failure does not let happen."""
    kept = {identifier: dict(values) for identifier, values in changes.items()}
    own = kept.get(failure.subject)
    if own is not None:
        own.pop("fault", None)
        if failure.mode == "stuck":
            own.pop("position", None)
    return kept


def without_stuck_lever(requirement: Mapping[str, Any], failure: Failure) -> dict[str, Any]:
    """The requirement as it stands in the file, with its `set` not moving a stuck lever."""
    changed = dict(requirement)
    changes = requirement.get("set")
    if isinstance(changes, Mapping) and moves_stuck_lever(changes, failure):
        changed["set"] = _without_position(changes, failure.subject)
    return changed


def _without_position(
    changes: Mapping[str, Mapping[str, Any]], subject: str
) -> dict[str, dict[str, Any]]:
    kept = {identifier: dict(values) for identifier, values in changes.items()}
    kept[subject].pop("position")
    return kept
