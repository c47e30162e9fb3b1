"""Cut, copy, paste: a piece of a circuit as text, in the form of the circuit file.

The text is a whole circuit file of its own, so what is pasted is checked like one, and
passes between windows, programs and mails.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from PySide6.QtGui import QGuiApplication

from analysis.circuit import Circuit, Component, Element
from analysis.circuit_file import circuit_text, parse_circuit
from analysis.errors import CircuitFileError
from analysis.routing import Point
from editor.free_ids import fits_spoken_of, free_component_id, free_line_id


def fragment(circuit: Circuit, ids: Iterable[str], places: dict[str, Point]) -> Circuit:
    """The components among `ids` and all lines between them, as a circuit of its own."""
    wanted = set(ids)
    piece = Circuit()
    twin = circuit.copy()
    for component in twin.components.values():
        if component.id in wanted:
            at = places.get(component.id, component.at)
            piece.components[component.id] = replace(component, at=at)
    for line in twin.lines.values():
        ends = {line.start.rpartition(".")[0], line.end.rpartition(".")[0]}
        if ends <= wanted:
            piece.lines[line.id] = line
    return piece


def copy_to_clipboard(piece: Circuit) -> None:
    """Put a piece of a circuit on the system's clipboard.

    As text and no type of its own: the clipboard outlives Python when the program ends, and
    a `QMimeData` made in Python would then end it in a segmentation fault.
    """
    QGuiApplication.clipboard().setText(circuit_text(piece))


def from_clipboard() -> Circuit | None:
    """The piece of a circuit on the clipboard; None if there is none."""
    raw = QGuiApplication.clipboard().text().encode()
    if not raw.strip().startswith(b"{"):
        return None
    try:
        return parse_circuit(raw)
    except CircuitFileError:
        return None


def adopted(circuit: Circuit, piece: Circuit, delta: Point) -> list[Element]:
    """The elements of a piece, shifted, with ids that are free in the circuit."""
    dx, dy = delta
    new_ids: dict[str, str] = {}
    taken: set[str] = set()
    elements: list[Element] = []
    for component in piece.components.values():
        fresh = _free_id(circuit, component, taken)
        taken.add(fresh)
        new_ids[component.id] = fresh
        x, y = component.at or (0, 0)
        at = round(x + dx), round(y + dy)
        elements.append(replace(component, id=fresh, at=at))
    for element in elements:
        if isinstance(element, Component):
            tripped_by = element.settings.get("tripped_by")
            if tripped_by in new_ids:
                element.settings = {**element.settings, "tripped_by": new_ids[tripped_by]}
    for line in piece.lines.values():
        own = line.id not in circuit and line.id not in taken
        keeps = own and fits_spoken_of(circuit, line, line.id)
        fresh = line.id if keeps else free_line_id(circuit, taken)
        taken.add(fresh)
        start, end = (_renamed(port, new_ids) for port in (line.start, line.end))
        via: list[Point] = [(round(x + dx), round(y + dy)) for x, y in line.via]
        elements.append(replace(line, id=fresh, start=start, end=end, via=via))
    return elements


def _renamed(port: str, new_ids: dict[str, str]) -> str:
    identifier, _, name = port.rpartition(".")
    return f"{new_ids[identifier]}.{name}"


def _free_id(circuit: Circuit, component: Component, taken: set[str]) -> str:
    """The id itself if it is free, else the next count behind the same circuit number."""
    own = component.id not in circuit and component.id not in taken
    if own and fits_spoken_of(circuit, component, component.id):
        return component.id
    digits = component.id[: len(component.id) - len(component.id.lstrip("0123456789"))]
    return free_component_id(circuit, component.kind, taken, digits or "0")
