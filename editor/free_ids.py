"""Ids for what is new: free on the sheet, and not spoken of by requirements and procedures.

A deleted part stays named where a requirement or procedure speaks of it. Another part must
not come by that name unasked: the requirement would then speak of something else, and the
file might not be readable any more.
"""

from __future__ import annotations

from collections.abc import Iterable

from analysis.broken_references import missing_in
from analysis.circuit import Circuit, Component, Element
from analysis.errors import CircuitFileError, EditError
from analysis.file_references import check_references
from symbols import find_kind


def find_spoken_of(circuit: Circuit) -> frozenset[str]:
    """The ids that requirements and procedures name and that nothing on the sheet has."""
    records = (*circuit.requirements, *circuit.procedures)
    return frozenset(i for record in records for i in missing_in(circuit, record))


def free_component_id(
    circuit: Circuit, kind: str, taken: Iterable[str] = (), number: str = "0"
) -> str:
    """A free id by ISO 1219-2: circuit number, class letter, count; none of `taken`."""
    used = {*taken, *find_spoken_of(circuit)}
    return _counted(circuit, used, f"{number}{find_kind(kind).code}", 1)


def free_line_id(circuit: Circuit, taken: Iterable[str] = ()) -> str:
    """A free id for a line: L and a count; none of `taken`."""
    used = {*taken, *find_spoken_of(circuit)}
    return _counted(circuit, used, "L", len(circuit.lines) + 1)


def _counted(circuit: Circuit, used: set[str], stem: str, count: int) -> str:
    while f"{stem}{count}" in circuit or f"{stem}{count}" in used:
        count += 1
    return f"{stem}{count}"


def check_spoken_of(circuit: Circuit, element: Element, identifier: str) -> None:
    """Raise EditError if the element, under that id, is not what the circuit says of it.

    Only an id that requirements or procedures name already can be refused.
    """
    if identifier not in find_spoken_of(circuit):
        return
    trial = Circuit()
    trial.components, trial.lines = dict(circuit.components), dict(circuit.lines)
    trial.procedures, trial.requirements = circuit.procedures, circuit.requirements
    group = trial.components if isinstance(element, Component) else trial.lines
    group[identifier] = element  # type: ignore[assignment]
    try:
        check_references(trial)
    except CircuitFileError as error:
        raise EditError(
            f"{error.place} speaks of another {identifier}: {error.message}; choose another id",
            identifier,
        ) from error


def fits_spoken_of(circuit: Circuit, element: Element, identifier: str) -> bool:
    """Whether the element can have that id."""
    try:
        check_spoken_of(circuit, element, identifier)
    except EditError:
        return False
    return True
