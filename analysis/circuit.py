"""The circuit: components, lines, and the only operations that change them.

`Circuit` is the only owner of state. All changes go through `add_component`,
`add_line`, `remove`, `rename`, `set_value` and `set_field`; each checks, changes, then
emits one `Change` on `circuit.changed` (nothing when nothing changed). `add`, `connect`
and the editor's commands are made of these. Values are kept as the user wrote them.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from analysis.elements import (
    EVIDENCE,
    LINE_FAULTS,
    LINE_ROLES,
    LINE_SETTINGS,
    Component,
    Element,
    Line,
    copied,
)
from analysis.errors import EditError, UnknownElement
from analysis.events import Change, Signal
from analysis.setting_order import check_order
from analysis.values import check_value, is_flagged
from analysis.waivers import check_waivers
from symbols import KINDS, Kind, find_kind

_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9_\-]*\Z")


_FIELDS = {
    "component": ("name", "at", "turn", "mirror", "labels", "evidence", "waivers"),
    "line": ("name", "start", "end", "via", "role", "evidence", "waivers"),
    "circuit": ("title", "sheet", "display_units", "fluid", "procedures", "requirements"),
}


class Circuit:
    """A circuit as it is drawn, with notifications of every change.

    Examples
    --------
    >>> circuit = Circuit()
    >>> pump = circuit.add("fixed_pump", id="0P1", displacement="0.75 in^3/rev")
    >>> cylinder = circuit.add("cylinder", id="1A1")
    >>> circuit.connect("0P1.outlet", "1A1.cap", bore="0.25 in", length="6 ft").id
    'L1'
    """

    def __init__(self) -> None:
        self.title: dict[str, str] = {}
        self.sheet: dict[str, Any] = {}
        self.display_units: dict[str, str] = {}
        self.fluid: dict[str, Any] = {}
        self.procedures: list[dict[str, Any]] = []
        self.requirements: list[dict[str, Any]] = []
        self.components: dict[str, Component] = {}
        self.lines: dict[str, Line] = {}
        self.written: frozenset[str] = frozenset()
        self.changed = Signal()
        self.revision = 0
        """Counts the changes; a result that remembers it knows whether it is stale."""

    # -- asking ---------------------------------------------------------------------

    def element(self, identifier: str) -> Element:
        """The component or line of that id; raises UnknownElement."""
        found = self.components.get(identifier) or self.lines.get(identifier)
        if found is None:
            raise UnknownElement(f"there is no component or line '{identifier}'")
        return found

    def __contains__(self, identifier: str) -> bool:
        return identifier in self.components or identifier in self.lines

    def elements(self) -> Iterator[Element]:
        """All components, then all lines, in the order of the file."""
        yield from self.components.values()
        yield from self.lines.values()

    def ports(self) -> Iterator[str]:
        """Every port as `ID.PORT`, in the order of the file."""
        for component in self.components.values():
            for port in component.declared.ports:
                yield f"{component.id}.{port.name}"

    def split_port(self, port: str) -> tuple[str, str]:
        """(component id, port name) of `ID.PORT`; raises UnknownElement."""
        identifier, _, name = port.rpartition(".")
        component = self.components.get(identifier)
        if component is None:
            whole = self.components.get(port)
            like = f"{port}.{whole.declared.ports[0].name}" if whole else "0P1.outlet"
            what = "port" if whole else "component"
            raise UnknownElement(f"'{port}' names no {what}; write it like {like}")
        for declared in component.declared.ports:
            if declared.name == name:
                return identifier, name
        names = ", ".join(p.name for p in component.declared.ports)
        raise UnknownElement(f"{component.kind} {identifier} has no port '{name}', but {names}")

    def lines_at(self, port_or_component: str) -> list[Line]:
        """The lines that end at `ID.PORT`, or at any port of the component `ID`."""
        if port_or_component in self.components:
            prefix = port_or_component + "."
            return [
                line
                for line in self.lines.values()
                if line.start.startswith(prefix) or line.end.startswith(prefix)
            ]
        return [x for x in self.lines.values() if port_or_component in (x.start, x.end)]

    def new_id(self, kind: str, circuit_number: int = 0) -> str:
        """A free identification code by ISO 1219-2: circuit number, class letter, count."""
        stem = f"{circuit_number}{find_kind(kind).code}"
        count = 1
        while f"{stem}{count}" in self:
            count += 1
        return f"{stem}{count}"

    def new_line_id(self) -> str:
        """A free id for a line: L and a count."""
        count = len(self.lines) + 1
        while f"L{count}" in self:
            count += 1
        return f"L{count}"

    def check_id(self, identifier: str) -> None:
        """Raise EditError unless the id is well-formed and free."""
        if not _ID.match(identifier):
            raise EditError(
                f"'{identifier}' is no id; use letters, digits, - and _, like 1V3", identifier
            )
        if identifier in self:
            raise EditError(f"the id '{identifier}' is taken; choose another", identifier)

    def check_connection(self, start: str, end: str) -> None:
        """Raise EditError or UnknownElement unless a line may run between the two ports."""
        self.split_port(start)
        self.split_port(end)
        if start == end:
            raise EditError(f"a line cannot run from {start} to itself; choose another port", start)

    def can_connect(self, start: str, end: str) -> bool:
        """Whether a line may run between the two ports."""
        try:
            self.check_connection(start, end)
        except EditError:
            return False
        return True

    # -- changing: the only writers -------------------------------------------------

    def add_component(self, component: Component, index: int | None = None) -> Component:
        """Add a component that is made already; raises EditError, QuantityError."""
        self.check_id(component.id)
        if component.kind not in KINDS:
            find_kind(component.kind)
        for name, value in component.settings.items():
            check_value(value, component.setting_of(name), f"{component.id}.{name}")
        for name, value in component.state.items():
            place, labels = f"{component.id}.{name}", _labels(component, name)
            check_value(value, component.state_of(name), place, labels)
        check_order(component)
        check_waivers(component.waivers, f"{component.id}.waivers")
        self.components = _inserted(self.components, component.id, component, index)
        self._tell("added", component.id)
        return component

    def add_line(self, line: Line, index: int | None = None) -> Line:
        """Add a line that is made already; raises EditError, QuantityError."""
        self.check_id(line.id)
        self.check_connection(line.start, line.end)
        _check_role(line.role, line.id)
        for name, value in line.settings.items():
            check_value(value, line.setting_of(name), f"{line.id}.{name}")
        for name, value in line.state.items():
            check_value(value, line.state_of(name), f"{line.id}.{name}")
        check_waivers(line.waivers, f"{line.id}.waivers")
        self.lines = _inserted(self.lines, line.id, line, index)
        self._tell("added", line.id)
        return line

    def remove(self, identifier: str) -> list[tuple[int, Element]]:
        """Remove a line, or a component with the lines at it.

        Returns
        -------
        list of (index, element)
            What was removed and where it stood, in the order in which it was removed;
            adding it again in reverse order restores the file byte for byte.
        """
        element = self.element(identifier)
        removed: list[tuple[int, Element]] = []
        if isinstance(element, Component):
            for line in self.lines_at(identifier):
                removed += self.remove(line.id)
            removed.append((list(self.components).index(identifier), element))
            del self.components[identifier]
        else:
            removed.append((list(self.lines).index(identifier), element))
            del self.lines[identifier]
        self._tell("removed", identifier)
        return removed

    def rename(self, old: str, new: str) -> None:
        """Give a component or line another id; lines that end at it follow.

        References in requirements and procedures follow too.
        """
        if old == new:
            return
        element = self.element(old)
        self.check_id(new)
        if isinstance(element, Component):
            self.components = {new if k == old else k: v for k, v in self.components.items()}
            for line in self.lines.values():
                line.start = _renamed_port(line.start, old, new)
                line.end = _renamed_port(line.end, old, new)
            for other in self.components.values():
                if other.settings.get("tripped_by") == old:
                    other.settings["tripped_by"] = new
                    other.resolved = None
        else:
            self.lines = {new if k == old else k: v for k, v in self.lines.items()}
        element.id = new
        element.resolved = None
        self.requirements = _renamed_ids(self.requirements, old, new)
        self.procedures = _renamed_ids(self.procedures, old, new)
        self._tell("renamed", old, new)

    def set_value(self, identifier: str, name: str, value: Any, *, state: bool = False) -> None:
        """Set a setting (or a state) to what the user wrote.

        `value` is text with a unit, a number where none is needed, a flag, a range
        `{"between": [low, high]}` or None (unknown; for a setting only). The sentinel
        `analysis.circuit.DEFAULT` takes the entry away, so that the default holds.

        Raises
        ------
        UnknownElement, QuantityError
        """
        element = self.element(identifier)
        values = element.state if state else element.settings
        if value is DEFAULT:
            if name not in values:
                return
            del values[name]
        else:
            declared = element.state_of(name) if state else element.setting_of(name)
            check_value(value, declared, f"{identifier}.{name}", labels=_labels(element, name))
            if name in values and values[name] == value and type(values[name]) is type(value):
                return
            values[name] = value
        element.resolved = None
        self._tell("changed", identifier, f"{'state' if state else 'settings'}.{name}")

    def set_field(self, identifier: str, name: str, value: Any) -> None:
        """Set a plain field: of a component or line, or (id empty) of the circuit.

        Components: name, at, turn, mirror, labels, evidence, waivers. Lines: name, start,
        end, via, role, evidence, waivers. Circuit: title, sheet, display_units, fluid,
        procedures, requirements. Whole values are set, never parts of them.
        """
        target: Any = self.element(identifier) if identifier else self
        group = "circuit" if not identifier else "line" if identifier in self.lines else "component"
        if name not in _FIELDS[group]:
            raise UnknownElement(f"a {group} has no field '{name}'", identifier)
        if name == "turn" and value not in (0, 90, 180, 270):
            raise EditError(f"turn is {value}; it must be 0, 90, 180 or 270", identifier)
        if name == "role":
            _check_role(value, identifier)
        if name == "waivers":
            check_waivers(value, f"{identifier}.waivers")
        if name in ("start", "end"):
            other = target.end if name == "start" else target.start
            self.check_connection(value, other)
        if getattr(target, name) == value:
            return
        setattr(target, name, copy.deepcopy(value))
        if identifier:
            target.resolved = None
        self._tell("changed", identifier, name)

    def replace_with(self, other: Circuit) -> None:
        """Take over all that another circuit holds; one `reset` is told."""
        fresh = copy.deepcopy({k: v for k, v in vars(other).items() if k not in _OWN})
        vars(self).update(fresh)
        self._tell("reset")

    def _tell(self, action: Any, subject: str = "", name: str = "") -> None:
        self.revision += 1
        self.changed.emit(Change(action, subject, name))

    # -- made of these --------------------------------------------------------------

    def add(
        self,
        kind: str,
        id: str | None = None,
        *,
        at: tuple[float, float] | None = None,
        turn: int = 0,
        mirror: bool = False,
        name: str = "",
        **values: Any,
    ) -> Component:
        """Add a component; `values` are settings and states by name, as in a file.

        A name that is both (a cylinder's `lock`) is the state if it is one of the
        state's words, else the setting.
        """
        component = Component(id or self.new_id(kind), kind, name, at, turn, mirror)
        declared = component.declared
        for key, value in values.items():
            if is_state(declared, key, value):
                component.state[key] = value
            else:
                component.setting_of(key)
                component.settings[key] = value
        return self.add_component(component)

    def connect(
        self, start: str, end: str, id: str | None = None, *, role: str = "pressure", **values: Any
    ) -> Line:
        """Connect two ports; `values`: bore, length, roughness, via, fault."""
        line = Line(id or self.new_line_id(), start, end, role=role)
        line.via = list(values.pop("via", ()))
        for key, value in values.items():
            (line.state if key == "fault" else line.settings)[key] = value
        return self.add_line(line)

    def copy(self) -> Circuit:
        """A deep copy without subscribers."""
        twin = Circuit()
        apart = (*_OWN, "components", "lines")
        vars(twin).update(copy.deepcopy({k: v for k, v in vars(self).items() if k not in apart}))
        # a general deep copy of the elements takes twenty times as long
        twin.components = {key: copied(value) for key, value in self.components.items()}
        twin.lines = {key: copied(value) for key, value in self.lines.items()}
        return twin

    def with_own(self, identifiers: Iterable[str]) -> Circuit:
        """A circuit like this one, to be changed at these elements only, without subscribers.

        Only they are copied. All else is shared with this circuit, and must not be changed
        in either of them as long as both are used.

        Raises
        ------
        UnknownElement
        """
        twin = Circuit()
        vars(twin).update({k: v for k, v in vars(self).items() if k not in _OWN})
        twin.components, twin.lines = dict(self.components), dict(self.lines)
        for identifier in identifiers:
            element = self.element(identifier)
            if isinstance(element, Component):
                twin.components[identifier] = copied(element)
            else:
                twin.lines[identifier] = copied(element)
        return twin


class _Default:
    """There is one only: a copy is itself, since it is told by `is`."""

    def __repr__(self) -> str:
        return "DEFAULT"

    def __copy__(self) -> _Default:
        return self

    def __deepcopy__(self, _memo: dict[int, Any]) -> _Default:
        return self


DEFAULT = _Default()
_OWN = ("changed", "revision")


def is_state(kind: Kind, name: str, value: Any) -> bool:
    """Whether `name` means a state of the kind when set to `value` (see `Circuit.add`)."""
    if name == "fault":
        return True
    if name in kind.states and name in kind.settings:
        return value in kind.states[name].choices
    return name in kind.states


def _labels(element: Element, name: str) -> Mapping[str, str]:
    return element.labels if name == "position" and isinstance(element, Component) else {}


def _check_role(role: str, identifier: str) -> None:
    if role not in LINE_ROLES:
        raise EditError(f"role is '{role}'; it must be one of {', '.join(LINE_ROLES)}", identifier)


def _inserted(old: dict[str, Any], key: str, value: Any, index: int | None) -> dict[str, Any]:
    if index is None or index >= len(old):
        old[key] = value
        return old
    items = list(old.items())
    items.insert(index, (key, value))
    return dict(items)


def _renamed_port(port: str, old: str, new: str) -> str:
    identifier, _, name = port.rpartition(".")
    return f"{new}.{name}" if identifier == old else port


def _renamed_ids(value: Any, old: str, new: str) -> Any:
    """`value` with every text and key that names `old` or `old.…` naming `new` instead."""
    if isinstance(value, dict):
        return {
            _renamed_ids(k, old, new): (
                v if k in ("name", "kind", "text") else _renamed_ids(v, old, new)
            )
            for k, v in value.items()
        }
    if isinstance(value, list):
        return [_renamed_ids(item, old, new) for item in value]
    if isinstance(value, str) and (value == old or value.startswith(old + ".")):
        return new + value[len(old) :]
    return value


__all__ = [
    "DEFAULT",
    "EVIDENCE",
    "LINE_FAULTS",
    "LINE_ROLES",
    "LINE_SETTINGS",
    "Circuit",
    "Component",
    "Element",
    "Line",
    "is_flagged",
    "is_state",
]
