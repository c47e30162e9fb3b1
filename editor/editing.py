"""Edits of several elements at once, each made into one undoable command.

Gestures and menu actions share them. Nothing here is pushed: the caller does that.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from analysis.circuit import Circuit, Component, Line
from analysis.routing import End, Point, placed_end
from editor.undo_commands import AddElements, Compound, Edit, RemoveElements, SetFields
from symbols import find_kind
from symbols.kind import place

Places = Mapping[str, Point]
Moved = dict[str, Component]
Vias = dict[str, list[Point]]


def components_in(circuit: Circuit, ids: Iterable[str]) -> list[Component]:
    """The components among the ids."""
    return [circuit.components[i] for i in ids if i in circuit.components]


def shifted(components: Iterable[Component], places: Places, delta: Point) -> Moved:
    """The components as they would stand after a move."""
    dx, dy = delta
    return {
        c.id: replace(c, at=_whole((places[c.id][0] + dx, places[c.id][1] + dy)))
        for c in components
    }


def turned(components: Sequence[Component], places: Places, degrees: int) -> Moved:
    """The components turned clockwise, all together about their middle."""
    cx, cy = _pivot(components, places)
    moved = {}
    for c in components:
        x, y = places[c.id]
        at = place((x - cx, y - cy), (cx, cy), degrees, False)
        # a mirrored symbol turns the same way as any other: it is mirrored first
        moved[c.id] = replace(c, at=_whole(at), turn=(c.turn + degrees) % 360)
    return moved


def mirrored(components: Sequence[Component], places: Places) -> Moved:
    """The components mirrored left to right, all together about their middle."""
    cx, _cy = _pivot(components, places)
    moved = {}
    for c in components:
        x, y = places[c.id]
        # mirroring after a turn is mirroring before the opposite turn
        moved[c.id] = replace(
            c, at=_whole((2 * cx - x, y)), mirror=not c.mirror, turn=-c.turn % 360
        )
    return moved


def _pivot(components: Sequence[Component], places: Places) -> Point:
    """The place of the part nearest to the middle: a grid point that turns with the group,
    so that four turns, or two mirrorings, bring every part back."""
    xs = [places[c.id][0] for c in components]
    ys = [places[c.id][1] for c in components]
    middle = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2

    def distance(component: Component) -> tuple[float, str]:
        x, y = places[component.id]
        return (x - middle[0]) ** 2 + (y - middle[1]) ** 2, component.id

    return places[min(components, key=distance).id]


def _whole(at: Point) -> Point:
    return round(at[0]), round(at[1])


def following(circuit: Circuit, moved: Moved, places: Places) -> Vias:
    """New corners of the lines at components that are moved, turned or mirrored.

    A line whose two ends move alike keeps its shape; else its first and last corner
    follow their port along, and a line that would run back into the symbol loses its
    corners and is routed anew. `places`: where all components stand now.
    """
    vias: Vias = {}
    for line in circuit.lines.values():
        if not line.via:
            continue
        ids = line.start.rpartition(".")[0], line.end.rpartition(".")[0]
        if ids[0] not in moved and ids[1] not in moved:
            continue
        old = _ends(circuit, line, {}, places)
        new = _ends(circuit, line, moved, places)
        vias[line.id] = _followed(line.via, old, new)
    return vias


def _ends(circuit: Circuit, line: Line, moved: Moved, places: Places) -> tuple[End, End]:
    ends = []
    for port in (line.start, line.end):
        identifier, _, name = port.rpartition(".")
        component = moved.get(identifier) or circuit.components[identifier]
        at = component.at if identifier in moved else places[identifier]
        ends.append(placed_end(component, name, at or (0, 0)))
    return ends[0], ends[1]


def _followed(via: Sequence[Point], old: tuple[End, End], new: tuple[End, End]) -> list[Point]:
    deltas = [(n.at[0] - o.at[0], n.at[1] - o.at[1]) for o, n in zip(old, new, strict=True)]
    if deltas[0] == deltas[1]:
        dx, dy = deltas[0]
        return [_whole((x + dx, y + dy)) for x, y in via]
    corners = [(float(x), float(y)) for x, y in via]
    for at, before, after in ((0, old[0], new[0]), (-1, old[1], new[1])):
        x, y = corners[at]
        if y == before.at[1]:
            corners[at] = x, after.at[1]
        elif x == before.at[0]:
            corners[at] = after.at[0], y
        if _runs_back(after, corners[at]):
            return []
    return [_whole(c) for c in corners]


def _runs_back(end: End, corner: Point) -> bool:
    dx, dy = corner[0] - end.at[0], corner[1] - end.at[1]
    backwards = {"right": dx < 0, "left": dx > 0, "down": dy < 0, "up": dy > 0}
    return end.facing is not None and backwards[end.facing]


def move_command(
    circuit: Circuit, text: str, moved: Moved, vias: Vias, merge_key: tuple = ()
) -> Edit | None:
    """The command that makes components and lines as given; None if nothing changes."""
    changes: list[tuple[str, str, object]] = []
    for identifier, component in moved.items():
        now = circuit.components[identifier]
        for name in ("at", "turn", "mirror"):
            if getattr(now, name) != getattr(component, name):
                changes.append((identifier, name, getattr(component, name)))
    if not changes:
        return None
    for identifier, via in vias.items():
        if circuit.lines[identifier].via != via:
            changes.append((identifier, "via", via))
    return SetFields(circuit, text, changes, merge_key)


def new_component(circuit: Circuit, kind: str, at: Point) -> Component:
    """A component of the kind with its defaults and a free id."""
    return Component(circuit.new_id(kind), kind, at=_whole(at))


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
    corners = [_whole(c) for c in via]
    return Line(identifier or circuit.new_line_id(), start, end, corners, role)


def free_line_id(circuit: Circuit, taken: Iterable[str]) -> str:
    """A free id for a line besides those that are about to be taken."""
    used, count = set(taken), len(circuit.lines) + 1
    while f"L{count}" in circuit or f"L{count}" in used:
        count += 1
    return f"L{count}"


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
    rest = Line(free_line_id(circuit, ()), f"{junction.id}.A", line.end, after, line.role)
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
    return trial


def _divided(points: Sequence[Point], at: Point) -> tuple[list[Point], list[Point]]:
    """The inner corners before and after a point on a way."""
    for i in range(len(points) - 1):
        (x0, y0), (x1, y1) = points[i], points[i + 1]
        within_x = min(x0, x1) <= at[0] <= max(x0, x1)
        if within_x and min(y0, y1) <= at[1] <= max(y0, y1):
            first = [_whole(p) for p in points[1 : i + 1] if _whole(p) != _whole(at)]
            last = [_whole(p) for p in points[i + 1 : -1] if _whole(p) != _whole(at)]
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
