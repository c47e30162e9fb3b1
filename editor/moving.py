"""Move, turn and mirror parts together, their lines following, as one undoable command."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from analysis.circuit import Circuit, Component, Line
from analysis.clear_ways import corners_of, ground_of
from analysis.routing import End, Point, placed_end, route_between
from editor.editing import whole
from editor.undo_commands import Edit, SetFields
from symbols.kind import place

Places = Mapping[str, Point]
Vias = dict[str, list[Point]]


@dataclass(frozen=True)
class Moved:
    """Components as they would stand, and what the same movement does to any point."""

    parts: dict[str, Component]
    carry: Callable[[Point], Point]


def shifted(components: Iterable[Component], places: Places, delta: Point) -> Moved:
    """The components as they would stand after a move."""

    def carry(at: Point) -> Point:
        return whole((at[0] + delta[0], at[1] + delta[1]))

    return Moved({c.id: replace(c, at=carry(places[c.id])) for c in components}, carry)


def turned(components: Sequence[Component], places: Places, degrees: int) -> Moved:
    """The components turned clockwise, all together about their middle."""
    cx, cy = _pivot(components, places)

    def carry(at: Point) -> Point:
        return whole(place((at[0] - cx, at[1] - cy), (cx, cy), degrees, False))

    # a mirrored symbol turns the same way as any other: it is mirrored first
    parts = {
        c.id: replace(c, at=carry(places[c.id]), turn=(c.turn + degrees) % 360) for c in components
    }
    return Moved(parts, carry)


def mirrored(components: Sequence[Component], places: Places) -> Moved:
    """The components mirrored left to right, all together about their middle."""
    cx, _cy = _pivot(components, places)

    def carry(at: Point) -> Point:
        return whole((2 * cx - at[0], at[1]))

    # mirroring after a turn is mirroring before the opposite turn
    parts = {
        c.id: replace(c, at=carry(places[c.id]), mirror=not c.mirror, turn=-c.turn % 360)
        for c in components
    }
    return Moved(parts, carry)


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


def following(circuit: Circuit, moved: Moved, places: Places) -> Vias:
    """New corners of the lines at components that are moved, turned or mirrored.

    A line between two such parts keeps its shape. Of others the first or last corner
    follows its port along; one that would then run back into the symbol loses its corners
    and is routed anew. `places`: where all components stand now.
    """
    vias: Vias = {}
    for line in circuit.lines.values():
        ids = line.start.rpartition(".")[0], line.end.rpartition(".")[0]
        inside = [identifier in moved.parts for identifier in ids]
        if not line.via or not any(inside):
            continue
        if all(inside):
            vias[line.id] = [moved.carry(corner) for corner in line.via]
        else:
            before = _ends(circuit, line, {}, places)
            after = _ends(circuit, line, moved.parts, places)
            vias[line.id] = _followed(line.via, list(zip(before, after, strict=True)))
    return vias


def led_clear(
    circuit: Circuit,
    moved: Moved,
    vias: Vias,
    places: Places,
    ways: Mapping[str, Sequence[Point]],
) -> Vias:
    """The corners of `following`, and others for lines that would run through a symbol.

    A line is led round what is in its way only where an end of it moves; it stays as it is
    while other parts are moved.

    Parameters
    ----------
    ways
        The corners of the lines as they are drawn now, ends included, by id.
    """
    stand = {**places, **{c.id: c.at or (0, 0) for c in moved.parts.values()}}
    trial = Circuit()
    trial.components = {**circuit.components, **moved.parts}
    touched, drawn = [], []
    for line in circuit.lines.values():
        inside = [port.rpartition(".")[0] in moved.parts for port in (line.start, line.end)]
        if any(inside) and not all(inside):
            touched.append(line)
        else:
            carried = [moved.carry(p) for p in ways[line.id]] if all(inside) else ways[line.id]
            drawn.append((line, carried))
    if not touched:
        return vias
    ground, found = ground_of(trial, stand, drawn), dict(vias)
    for line in touched:
        ends = _ends(circuit, line, moved.parts, places)
        way: Sequence[Point] = route_between(*ends, vias.get(line.id, line.via))
        if not ground.is_clear(line, way):
            clear = ground.find_way(line, *ends)
            if clear is not None:
                way, found[line.id] = clear, corners_of(clear)
        ground.add(line, way)
    return found


def _ends(
    circuit: Circuit, line: Line, moved: Mapping[str, Component], places: Places
) -> tuple[End, End]:
    ends = []
    for port in (line.start, line.end):
        identifier, _, name = port.rpartition(".")
        component = moved.get(identifier) or circuit.components[identifier]
        at = component.at if identifier in moved else places[identifier]
        ends.append(placed_end(component, name, at or (0, 0)))
    return ends[0], ends[1]


def _followed(via: Sequence[Point], ends: Sequence[tuple[End, End]]) -> list[Point]:
    """`ends`: each end before and after."""
    corners = [(float(x), float(y)) for x, y in via]
    for at, (before, after) in zip((0, -1), ends, strict=True):
        x, y = corners[at]
        if y == before.at[1]:
            corners[at] = x, after.at[1]
        elif x == before.at[0]:
            corners[at] = after.at[0], y
        if _runs_back(after, corners[at]):
            return []
    return [whole(corner) for corner in corners]


def _runs_back(end: End, corner: Point) -> bool:
    dx, dy = corner[0] - end.at[0], corner[1] - end.at[1]
    backwards = {"right": dx < 0, "left": dx > 0, "down": dy < 0, "up": dy > 0}
    return end.facing is not None and backwards[end.facing]


def move_command(
    circuit: Circuit, text: str, moved: Moved, vias: Vias, merge_key: tuple = ()
) -> Edit | None:
    """The command that makes components and lines as given; None if nothing changes."""
    changes: list[tuple[str, str, object]] = []
    for identifier, component in moved.parts.items():
        now = circuit.components[identifier]
        for name in ("at", "turn", "mirror"):
            if getattr(now, name) != getattr(component, name):
                changes.append((identifier, name, getattr(component, name)))
    for identifier, via in vias.items():
        if circuit.lines[identifier].via != via:
            changes.append((identifier, "via", via))
    return SetFields(circuit, text, changes, merge_key) if changes else None
