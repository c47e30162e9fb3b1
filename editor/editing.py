"""Edits of several elements at once, each made into one undoable command.

Gestures and menu actions share them. Nothing here is pushed: the caller does that.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from analysis.circuit import Circuit, Component, Line
from analysis.routing import Point
from editor.free_ids import free_component_id, free_line_id
from editor.undo_commands import AddElements, Compound, Edit, RemoveElements, SetFields
from symbols import find_kind


def components_in(circuit: Circuit, ids: Iterable[str]) -> list[Component]:
    """The components among the ids."""
    return [circuit.components[i] for i in ids if i in circuit.components]


def whole(at: Point) -> Point:
    """The nearest point of the grid, as whole numbers."""
    return round(at[0]), round(at[1])


def new_component(circuit: Circuit, kind: str, at: Point) -> Component:
    """A component of the kind with its defaults and a free id."""
    return Component(free_component_id(circuit, kind), kind, at=whole(at))


def role_between(circuit: Circuit, start: str, end: str) -> str:
    """The likely role of a new line, from the ports it joins and the lines at junctions."""
    roles = [_port_role(circuit, port) for port in (start, end)]
    for role in ("pilot", "drain", "suction", "return"):
        if role in roles:
            return role
    return "pressure"


_SUCTION = {("reservoir", "supply"), ("reservoir", "standpipe")}
_RETURN = {("reservoir", "return"), ("relief_valve", "outlet"), ("unloading_valve", "return")}
_PUMPS = ("fixed_pump", "compensated_pump", "hand_pump")


def _port_role(circuit: Circuit, port: str) -> str:
    identifier, name = circuit.split_port(port)
    component = circuit.components[identifier]
    if component.kind == "junction":
        lines = circuit.lines_at(port)
        return lines[0].role if lines else "pressure"
    declared = find_kind(component.kind).port(name).role
    if declared != "working":
        return declared
    if (component.kind, name) in _SUCTION or (component.kind in _PUMPS and name == "inlet"):
        return "suction"
    if (component.kind, name) in _RETURN or name == "T":
        return "return"
    return "pressure"


def new_line(
    circuit: Circuit, start: str, end: str, via: Sequence[Point] = (), identifier: str = ""
) -> Line:
    """A line between two ports; raises EditError if there may be none."""
    circuit.check_connection(start, end)
    role = role_between(circuit, start, end)
    corners = [whole(c) for c in via]
    return Line(identifier or free_line_id(circuit), start, end, corners, role)


def split_line(
    circuit: Circuit, line: Line, at: Point, points: Sequence[Point]
) -> tuple[Component, Line, list[Edit]]:
    """A junction on a line: the line ends there, and a new one goes on to the old end.

    The first part keeps what was written of the line, its length too, since a sketch does
    not tell how the length divides; the second takes bore and role and has no length.

    Parameters
    ----------
    points
        The corners of the line as it is drawn, its ends included.
    """
    junction = new_component(circuit, "junction", at)
    before, after = _divided(points, (junction.at or at))
    rest = Line(free_line_id(circuit), f"{junction.id}.A", line.end, after, line.role)
    if "bore" in line.settings:
        rest.settings["bore"] = line.settings["bore"]
    shortened = SetFields(circuit, "", [(line.id, "via", before)])
    add = AddElements(circuit, [junction, rest])
    trial = circuit_with(circuit, junction, rest)
    join = SetFields(trial, "", [(line.id, "end", f"{junction.id}.A")])
    return junction, rest, [add, join, shortened]


def circuit_with(circuit: Circuit, component: Component, line: Line) -> Circuit:
    """A shallow copy of the circuit that holds one more of each, to check edits against."""
    trial = Circuit()
    trial.components = {**circuit.components, component.id: component}
    trial.lines = {**circuit.lines, line.id: line}
    trial.requirements, trial.procedures = circuit.requirements, circuit.procedures
    return trial


def _divided(points: Sequence[Point], at: Point) -> tuple[list[Point], list[Point]]:
    """The inner corners before and after a point on a way."""
    for i in range(len(points) - 1):
        (x0, y0), (x1, y1) = points[i], points[i + 1]
        within_x = min(x0, x1) <= at[0] <= max(x0, x1)
        if within_x and min(y0, y1) <= at[1] <= max(y0, y1):
            first = [whole(p) for p in points[1 : i + 1] if whole(p) != whole(at)]
            last = [whole(p) for p in points[i + 1 : -1] if whole(p) != whole(at)]
            return first, last
    return [], []


def remove_command(circuit: Circuit, ids: Sequence[str], verb: str = "Delete") -> Edit | None:
    """The command that removes what is selected; None if nothing is."""
    known = [i for i in ids if i in circuit]
    if not known:
        return None
    command = RemoveElements(circuit, known)
    command.setText(command.text().replace("Delete", verb, 1))
    return command


def compound(circuit: Circuit, text: str, edits: Iterable[Edit]) -> Edit:
    """Several edits as one command."""
    return Compound(circuit, text, edits)
