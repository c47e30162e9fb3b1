"""The readings of a report: the circuit as drawn, and with its levers set otherwise.

The settings are those that somebody had in mind: what the requirements set, with their
sources running, and what the procedures start from and set. Positions of levers that are
in none of these are added one by one, so that every position is read at least once.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from analysis.circuit import Circuit
from analysis.errors import CircuitError
from analysis.passages import is_lever_free, positions
from analysis.readings import Readings, readings
from analysis.requirements import read_requirement
from analysis.resolved import resolve_element
from analysis.variants import with_changes
from analysis.ways import sources_of

Changes = dict[str, dict[str, Any]]


@dataclass(frozen=True)
class LeverSetting:
    """A setting of the levers that is read, and where it comes from.

    `differs` says in words in what it differs from the drawing; `named_in` holds codes
    of requirements (`R1`) and steps of procedures (`P2 step 1`).
    """

    code: str
    differs: tuple[str, ...]
    named_in: tuple[str, ...]
    circuit: Circuit
    readings: Readings


def find_settings(circuit: Circuit, instant: Readings) -> tuple[LeverSetting, ...]:
    """The settings of a report, the circuit as drawn first.

    Parameters
    ----------
    instant
        The readings of the circuit as drawn.
    """
    found: dict[frozenset[tuple[str, str, str]], tuple[Changes, list[str]]] = {}
    found[frozenset()] = ({}, [])
    stood: set[tuple[str, str]] = set()
    for changes, name in _named(circuit):
        _enter(circuit, found, stood, changes, name)
    for lever, position in _free_positions(circuit):
        if (lever, position) not in stood:
            _enter(circuit, found, stood, {lever: {"position": position}}, "")
    settings = []
    for number, (changes, names) in enumerate(found.values()):
        variant = with_changes(circuit, changes)
        read = readings(variant, start=instant) if changes else instant
        differs = tuple(_words(circuit, changes))
        named = tuple(dict.fromkeys(name for name in names if name))
        settings.append(LeverSetting(f"S{number}", differs, named, variant, read))
    return tuple(settings)


def _enter(
    circuit: Circuit,
    found: dict[frozenset[tuple[str, str, str]], tuple[Changes, list[str]]],
    stood: set[tuple[str, str]],
    changes: Changes,
    name: str,
) -> None:
    """Take a setting in, once; what cannot be set is told by the verdict that needs it."""
    try:
        variant = with_changes(circuit, changes)
    except CircuitError:
        return
    key = set()
    for identifier in changes:
        was, now = (resolve_element(c.element(identifier)) for c in (circuit, variant))
        pairs = [*now.settings.items(), *now.state.items(), ("fault", now.fault)]
        before = {**was.settings, **was.state, "fault": was.fault}
        key |= {(identifier, n, repr(value)) for n, value in pairs if value != before[n]}
    for component in variant.components.values():
        if is_lever_free(component):
            stood.add((component.id, str(resolve_element(component).state["position"])))
    found.setdefault(frozenset(key), (changes, []))[1].append(name)


def _named(circuit: Circuit) -> Iterator[tuple[Changes, str]]:
    for number, requirement in enumerate(circuit.requirements, start=1):
        asked = read_requirement(circuit, requirement, number)
        if asked is None or asked.kind == "survives":
            continue
        for sources in (asked.sources, asked.other):
            if sources:
                yield (
                    _merged(requirement.get("set") or {}, _running(circuit, sources)),
                    f"R{number}",
                )
    for number, procedure in enumerate(circuit.procedures, start=1):
        changes = _merged(procedure.get("start") or {})
        if changes:
            yield changes, f"P{number} start"
        for count, step in enumerate(procedure.get("steps") or (), start=1):
            changes = _merged(changes, step.get("set") or {})
            yield changes, f"P{number} step {count}"


def _running(circuit: Circuit, sources: tuple[str, ...]) -> Changes:
    """The sources run, and no other pump does."""
    return {
        identifier: {"running": identifier in sources}
        for identifier in sources_of(circuit)
        if "running" in circuit.components[identifier].declared.states
    }


def _merged(*changes: Mapping[str, Mapping[str, Any]]) -> Changes:
    found: Changes = {}
    for one in changes:
        for identifier, values in one.items():
            found.setdefault(identifier, {}).update(values)
    return found


def _free_positions(circuit: Circuit) -> Iterator[tuple[str, str]]:
    for component in circuit.components.values():
        if is_lever_free(component):
            for position in positions(component):
                yield component.id, position


def _words(circuit: Circuit, changes: Changes) -> Iterator[str]:
    """In what the changes differ from the drawing, in words."""
    variant = with_changes(circuit, changes)
    differing: Changes = {}
    for identifier, values in changes.items():
        was, now = (resolve_element(c.element(identifier)) for c in (circuit, variant))
        before = {**was.settings, **was.state, "fault": was.fault}
        after = {**now.settings, **now.state, "fault": now.fault}
        differing[identifier] = {n: v for n, v in values.items() if after[n] != before[n]}
    yield from changes_in_words(circuit, differing)


def changes_in_words(circuit: Circuit, changes: Mapping[str, Mapping[str, Any]]) -> list[str]:
    """What is set, as it stands in a file: `1V1 at DOWN`, `1A1, 1A2 extension 0 in`."""
    subjects: dict[str, list[str]] = {}
    for identifier, values in changes.items():
        for name, written in values.items():
            subjects.setdefault(_change(circuit, identifier, name, written), []).append(identifier)
    return [f"{', '.join(ids)} {what}" for what, ids in subjects.items()]


def _change(circuit: Circuit, identifier: str, name: str, written: Any) -> str:
    """What is set, without the id."""
    text = "unknown" if written is None else str(written).replace("_", " ")
    if name == "running":
        return "running" if written is True else "standing still"
    if name == "fault":
        return text if written not in (None, "none") else "without failure"
    if name == "position":
        component = circuit.components.get(identifier)
        labels = component.labels if component is not None else {}
        return f"at {labels.get(str(written), text)}"
    return text if name == "lock" else f"{name.replace('_', ' ')} {text}"
