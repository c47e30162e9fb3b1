"""The scene: the only map from the circuit's elements to the items that show them.

Each notification of the circuit is answered by the items it concerns; nothing here
changes the circuit. A gesture previews by giving components other places for a while.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from types import MappingProxyType

from PySide6.QtCore import QObject, QRectF, Signal
from PySide6.QtWidgets import QGraphicsScene

from analysis.circuit import Circuit, Component, Line
from analysis.clear_ways import lead_lines
from analysis.events import Change
from analysis.routing import End, Point, placed_end, route_between
from analysis.sheet import DEFAULT_SIZE
from editor.canvas.component_item import ComponentItem
from editor.canvas.joint_dots import JointDots
from editor.canvas.lettering import to_scene
from editor.canvas.line_item import LineItem, LineStyle
from editor.canvas.name_places import NamePlaces
from editor.listening import listen
from editor.looks import look_of
from editor.painting import cached_picture
from editor.selection import Selection
from symbols.kind import place

_NONE: Mapping[str, Component] = MappingProxyType({})
ROLE_DASHES = {"pilot": "pilot", "drain": "drain"}


class Scene(QGraphicsScene):
    """All components and lines of a circuit as items.

    `rebuilt` is emitted after the whole circuit was replaced.
    """

    rebuilt = Signal()

    def __init__(
        self, circuit: Circuit, selection: Selection, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self.circuit = circuit
        self.selection = selection
        self.components: dict[str, ComponentItem] = {}
        self.lines: dict[str, LineItem] = {}
        self._styles: dict[str, LineStyle] = {}
        self._dots = JointDots(self, self.place_of)
        self._laid_out: dict[str, Point] | None = None
        self._led: dict[str, tuple[list[End], list[Point]]] = {}
        self._names = NamePlaces()
        self._hovered = ""
        self._faults_shown = True
        self._moving: Mapping[str, Mapping[str, object]] | None = None
        self._worked: Circuit | None = None
        listen(circuit.changed, self._on_change)
        selection.changed.connect(self._show_looks)
        self.rebuild()

    # -- the circuit as it stands -----------------------------------------------------

    def place_of(self, component: Component) -> Point:
        """Where a component stands; one without a place is laid out automatically."""
        if component.at is not None:
            return component.at
        if self._laid_out is None:
            from analysis.layout import lay_out

            self._laid_out = dict(lay_out(self.circuit))
        return self._laid_out.get(component.id, (0, 0))

    def item(self, identifier: str) -> ComponentItem | LineItem | None:
        """The item of a component or line."""
        return self.components.get(identifier) or self.lines.get(identifier)

    def extent(self) -> QRectF:
        """What all items cover."""
        area = QRectF()
        for item in (*self.components.values(), *self.lines.values()):
            area |= item.sceneBoundingRect()
        return area

    def rebuild(self) -> None:
        """Make all items anew."""
        for old in (*self.components.values(), *self.lines.values()):
            self.removeItem(old)
        self.components, self.lines = {}, {}
        self._laid_out = None
        for component in self.circuit.components.values():
            self._add_component(component)
        self._lead_lines()
        for line in self.circuit.lines.values():
            self._add_line(line)
        self._place_names()
        self._show_dots()
        self._show_looks()
        self.rebuilt.emit()

    def _lead_lines(self) -> None:
        """Lead lines without corners of their own as the drawn sheet does, round symbols.

        Such a way holds as long as both its ends stay where they are.
        """
        places = {c.id: self.place_of(c) for c in self.circuit.components.values()}
        ways = lead_lines(self.circuit, places)
        self._led = {
            line.id: (self._ends(line), ways[line.id])
            for line in self.circuit.lines.values()
            if not line.via
        }

    def _place_names(self) -> None:
        """Look for a place for every name beside the others, and set the names there."""
        drawn = []
        for component in self.circuit.components.values():
            look = look_of(self.circuit, component)
            bounds = self.components[component.id].picture.bounds
            drawn.append((component, look, self.place_of(component), bounds))
        routes = {identifier: item.points for identifier, item in self.lines.items()}
        size = str(self.circuit.sheet.get("size", DEFAULT_SIZE))
        self._names.look_for_places(drawn, routes, size)
        for component in self.circuit.components.values():
            self.show_component(component)

    # -- answering the circuit --------------------------------------------------------

    def _on_change(self, change: Change) -> None:
        if change.action == "reset":
            self.rebuild()
        elif change.action == "added":
            self._on_added(change.subject)
        elif change.action == "removed":
            self._on_removed(change.subject)
        elif change.action == "renamed":
            self._on_renamed(change.subject, change.name)
        elif change.subject:
            self._on_changed(change.subject, change.name)

    def _on_added(self, identifier: str) -> None:
        self._laid_out = None
        if identifier in self.circuit.components:
            self._add_component(self.circuit.components[identifier])
        else:
            self._add_line(self.circuit.lines[identifier])
            self._show_dots()

    def _on_removed(self, identifier: str) -> None:
        item = self.components.pop(identifier, None) or self.lines.pop(identifier, None)
        if item is not None:
            self.removeItem(item)
        self._show_dots()

    def _on_renamed(self, old: str, new: str) -> None:
        if old in self.components:
            item = self.components.pop(old)
            item.identifier = new
            self.components[new] = item
            self.show_component(self.circuit.components[new])
        elif old in self.lines:
            line = self.lines.pop(old)
            line.identifier = new
            self.lines[new] = line

    def _on_changed(self, identifier: str, name: str) -> None:
        if identifier in self.lines:
            self.show_line(self.circuit.lines[identifier])
            if name in ("start", "end"):
                self._show_dots()
            return
        component = self.circuit.components[identifier]
        self.show_component(component)
        if name in ("at", "turn", "mirror"):
            for line in self.circuit.lines_at(identifier):
                self.show_line(line)
            self._show_dots()
        elif name == "state.extension":
            self._show_rollers(identifier)

    def _show_rollers(self, cylinder: str) -> None:
        """Valves that a cylinder's cam trips are drawn as they stand now."""
        for component in self.circuit.components.values():
            if component.settings.get("tripped_by") == cylinder:
                self.show_component(component)

    def _add_component(self, component: Component) -> None:
        item = ComponentItem(component.id)
        self.components[component.id] = item
        self.show_component(component)
        self.addItem(item)

    def _add_line(self, line: Line) -> None:
        item = LineItem(line.id)
        self.lines[line.id] = item
        self.show_line(line)
        self.addItem(item)

    def show_faults(self, shown: bool) -> None:
        """Write faults at what has them, or (an instructor's wish) keep them to itself."""
        self._faults_shown = shown
        for component in self.circuit.components.values():
            self.show_component(component)
        for line in self.circuit.lines.values():
            self.show_line(line)

    # -- showing ----------------------------------------------------------------------

    def show_component(self, component: Component, at: Point | None = None) -> None:
        """Paint a component as it is now, or as a gesture would have it, at `at`."""
        item = self.components[component.id]
        worked = self._worked or self.circuit
        look = look_of(worked, worked.components.get(component.id, component), self._moving)
        if not self._faults_shown and "fault" in look.choices:
            look = replace(look, choices={**look.choices, "fault": "none"})
        picture = cached_picture(component.kind, look, component.turn, component.mirror)
        ports = {
            port.name: to_scene(place(port.at, (0, 0), component.turn, component.mirror))
            for port in component.declared.ports
        }
        item.show_as(picture, self._names.words(component, look, picture.bounds), ports)
        item.setPos(to_scene(at or self.place_of(component)))

    def show_moving(
        self,
        moving: Mapping[str, Mapping[str, object]] | None,
        worked: Circuit | None = None,
    ) -> None:
        """Show the circuit at work: states by id that replace the written ones; None ends it.

        `worked` has the levers and faults as they were set meanwhile; it is another circuit
        whenever one of them was set.
        """
        # a copy: the motion goes on changing its own, and what changed is told by comparing
        states = None if moving is None else {key: dict(own) for key, own in moving.items()}
        before, self._moving = self._moving or {}, states
        now = states or {}
        affected = {key for key in now.keys() | before.keys() if now.get(key) != before.get(key)}
        if worked is not self._worked:
            affected |= self._set_worked(worked)
        affected |= {
            component.id
            for component in self.circuit.components.values()
            if component.settings.get("tripped_by") in affected
        }
        for identifier in affected & self.components.keys():
            self.show_component(self.circuit.components[identifier])

    def _set_worked(self, worked: Circuit | None) -> set[str]:
        """Show faults as they were set meanwhile; returns the components that may look different.

        A circuit at work shares what was not set with the one before it.
        """
        before, self._worked = self._worked or self.circuit, worked
        for line in self.circuit.lines.values():
            self.lines[line.id].set_fault(self._fault_of(line))
        own = (worked or self.circuit).components
        return {
            component.id
            for component in self.circuit.components.values()
            if own.get(component.id) is not before.components.get(component.id)
        }

    def show_line(
        self,
        line: Line,
        moved: Mapping[str, Component] = _NONE,
        via: Iterable[Point] | None = None,
    ) -> None:
        """Route a line anew; `moved` holds components as a gesture would have them."""
        item = self.lines[line.id]
        corners = line.via if via is None else list(via)
        item.set_points(self.route(replace(line, via=list(corners)), moved))
        item.set_fault(self._fault_of(line))
        item.set_style(self._styles.get(line.id) or plain_style(line))

    def _fault_of(self, line: Line) -> str:
        """The fault to be written at a line; empty for none."""
        now = self._worked.lines.get(line.id, line) if self._worked else line
        fault = str(now.state.get("fault", "none"))
        return fault if self._faults_shown and fault != "none" else ""

    def route(self, line: Line, moved: Mapping[str, Component] = _NONE) -> list[Point]:
        """The corners of a line as it would be drawn."""
        ends = self._ends(line, moved)
        led = self._led.get(line.id)
        if led is not None and not line.via and led[0] == ends:
            return list(led[1])
        return route_between(ends[0], ends[1], line.via)

    def _ends(self, line: Line, moved: Mapping[str, Component] = _NONE) -> list[End]:
        ends = []
        for port in (line.start, line.end):
            identifier, name = self.circuit.split_port(port)
            component = moved.get(identifier) or self.circuit.components[identifier]
            ends.append(placed_end(component, name, self.place_of(component)))
        return ends

    def port_at(self, port: str) -> Point:
        """Where `ID.PORT` is on the sheet, in modules."""
        identifier, name = self.circuit.split_port(port)
        component = self.circuit.components[identifier]
        return placed_end(component, name, self.place_of(component)).at

    def set_styles(self, styles: Mapping[str, LineStyle]) -> None:
        """Paint lines in these styles, by id; lines without one are drawn plainly."""
        self._styles = dict(styles)
        for identifier, item in self.lines.items():
            line = self.circuit.lines.get(identifier)
            if line is not None:
                item.set_style(self._styles.get(identifier) or plain_style(line))

    def preview(self, moved: Mapping[str, Component], vias: Mapping[str, list[Point]]) -> None:
        """Show components and lines as a gesture would have them; the circuit stays."""
        for identifier, component in moved.items():
            item = self.components[identifier]
            now = self.circuit.components[identifier]
            if (component.turn, component.mirror) == (now.turn, now.mirror):
                item.setPos(to_scene(self.place_of(component)))
            else:
                self.show_component(component)
        for identifier in self._lines_at(moved):
            line = self.circuit.lines[identifier]
            self.show_line(line, moved, vias.get(identifier))
        self._show_dots(moved)

    def end_preview(self, identifiers: Iterable[str]) -> None:
        """Show these components and their lines as the circuit has them."""
        ids = [i for i in identifiers if i in self.circuit.components]
        for identifier in ids:
            self.show_component(self.circuit.components[identifier])
        for line in self._lines_at(ids):
            self.show_line(self.circuit.lines[line])
        self._show_dots()

    def _lines_at(self, identifiers: Iterable[str]) -> list[str]:
        wanted = set(identifiers)
        return [
            line.id
            for line in self.circuit.lines.values()
            if line.start.rpartition(".")[0] in wanted or line.end.rpartition(".")[0] in wanted
        ]

    # -- marks ------------------------------------------------------------------------

    def set_hovered(self, identifier: str) -> None:
        """Show the element under the pointer."""
        if identifier != self._hovered:
            before, self._hovered = self._hovered, identifier
            for one in (before, identifier):
                self._show_look(one)

    def _show_looks(self) -> None:
        for identifier in (*self.components, *self.lines):
            self._show_look(identifier)

    def _show_look(self, identifier: str) -> None:
        item = self.item(identifier)
        if item is not None:
            item.set_look(
                selected=identifier in self.selection.ids(),
                hovered=identifier == self._hovered,
            )

    def _show_dots(self, moved: Mapping[str, Component] = _NONE) -> None:
        self._dots.show(self.circuit, moved)


def plain_style(line: Line) -> LineStyle:
    """The style by the line's role alone (ISO 1219-1: pilot and drain lines are dashed)."""
    return LineStyle(dash=ROLE_DASHES.get(line.role, "solid"))
