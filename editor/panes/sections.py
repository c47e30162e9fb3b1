"""Which rows the form shows: for one part, for one line, for several, for the circuit."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from analysis.circuit import EVIDENCE, LINE_ROLES, LINE_SETTINGS, Circuit, Component, Line
from analysis.errors import EditError
from analysis.liquids import DEFAULT_LIQUID, LIQUIDS, liquid
from analysis.values import check_value, resolve
from editor.display_units import UNIT_CHOICES, DisplayUnits, typeset
from editor.panes.bindings import (
    Binding,
    Desk,
    EvidenceBinding,
    FieldBinding,
    IdBinding,
    SeveralBinding,
    ValueBinding,
)
from editor.panes.labels import LabelBinding, position_choices
from editor.panes.rows import Row, TextRow
from editor.panes.value_rows import ChoiceRow, FlagRow, NotesRow, QuantityRow
from symbols.kind import Setting

TEMPERATURE = Setting("Temperature", "temperature", "15 degC")
SHEET_SIZES = ("A4", "A3", "A2", "A1", "A0")
_UNKNOWN_CHOICE = (None, "? (not known)")


@dataclass(frozen=True)
class Section:
    """A heading (may be empty) and the rows below it."""

    title: str
    rows: Sequence[Row]


def _words(choice: str) -> str:
    return choice.replace("_", " ")


# -- one component ----------------------------------------------------------------------


def component_sections(desk: Desk, component: Component, units: DisplayUnits) -> list[Section]:
    """Everything that can be said of one component."""
    state = [_value_row(desk, component, n, units, state=True) for n in component.declared.states]
    settings = [
        _value_row(desk, component, name, units)
        for name in component.declared.settings
        if name != "leak_diameter"
    ]
    fault = [_value_row(desk, component, "fault", units, state=True)]
    if "leak_diameter" in component.declared.settings:
        fault.append(_value_row(desk, component, "leak_diameter", units))
    sections = [
        Section("", _naming_rows(desk, component.id)),
        Section("State", state),
        Section("Lever labels", list(_label_rows(desk, component))),
        Section("Settings", settings),
        Section("Fault", fault if component.declared.faults else []),
        Section("Evidence", _evidence_rows(desk, [component.id])),
    ]
    return [section for section in sections if section.rows]


def _naming_rows(desk: Desk, identifier: str) -> list[Row]:
    return [
        TextRow("Id", IdBinding(desk, identifier), resets=False),
        TextRow("Name", FieldBinding(desk, identifier, "name"), resets=False, placeholder="none"),
    ]


def _value_row(
    desk: Desk, element: Component | Line, name: str, units: DisplayUnits, *, state: bool = False
) -> Row:
    declared = element.state_of(name) if state else element.setting_of(name)
    binding = ValueBinding(desk, element.id, name, state=state)
    if name == "position" and isinstance(element, Component):
        return PositionRow(declared, binding, element)
    if name == "tripped_by":
        return CylinderRow(declared, binding, desk.circuit)
    if declared.dimension == "flag":
        return FlagRow(declared, binding)
    if declared.dimension == "choice":
        choices: list[tuple[Any, str]] = [(c, _words(c)) for c in declared.choices]
        if not state:
            choices.append(_UNKNOWN_CHOICE)
        return ChoiceRow(declared.title, binding, choices, default=declared.default)
    absent = "ideal" if isinstance(element, Line) else "not given"
    return QuantityRow(binding, declared, units, may_be_unknown=not state, if_absent=absent)


class PositionRow(ChoiceRow):
    """Where a valve stands, in the words the user wrote on its lever."""

    def __init__(self, declared: Setting, binding: Binding, component: Component) -> None:
        self._component = component
        choices = position_choices(component)
        super().__init__(declared.title, binding, choices, default=declared.default)

    def refresh(self) -> None:
        self.set_choices(position_choices(self._component))
        super().refresh()


class CylinderRow(ChoiceRow):
    """Which cylinder trips a roller: one of those on the sheet."""

    def __init__(self, declared: Setting, binding: Binding, circuit: Circuit) -> None:
        self._circuit = circuit
        super().__init__(declared.title, binding, self._cylinders(), default="")

    def _cylinders(self) -> list[tuple[Any, str]]:
        found: list[tuple[Any, str]] = [("", "none")]
        for component in self._circuit.components.values():
            if "extension" in component.declared.states:
                name = f" ({component.name})" if component.name else ""
                found.append((component.id, f"{component.id}{name}"))
        return found

    def commit(self, raw: Any) -> bool:
        from analysis.circuit import DEFAULT

        return super().commit(DEFAULT if raw == "" else raw)


def _label_rows(desk: Desk, component: Component) -> Iterator[Row]:
    if "position" not in component.declared.states:
        return
    for choice in component.declared.states["position"].choices:
        yield TextRow(
            choice.capitalize(), LabelBinding(desk, component.id, choice), placeholder=choice
        )


def _evidence_rows(desk: Desk, identifiers: Sequence[str]) -> list[Row]:
    status: list[Binding] = [EvidenceBinding(desk, i, "evidence", "status") for i in identifiers]
    source: list[Binding] = [EvidenceBinding(desk, i, "evidence", "source") for i in identifiers]
    choices = [("", "not said"), *((e, e) for e in EVIDENCE)]
    return [
        ChoiceRow("Status", _one(desk, "Set evidence", status), choices, default="", resets=False),
        TextRow(
            "Source",
            _one(desk, "Set source of evidence", source),
            resets=False,
            placeholder="data plate, manual …",
        ),
    ]


def _one(desk: Desk, text: str, bindings: list[Binding]) -> Binding:
    if len(bindings) == 1:
        return bindings[0]
    return SeveralBinding(desk, f"{text} of {len(bindings)} parts", bindings)


# -- one line, several parts ------------------------------------------------------------


def line_sections(desk: Desk, line: Line, units: DisplayUnits) -> list[Section]:
    """Everything that can be said of one line."""
    sizes = [_value_row(desk, line, n, units) for n in LINE_SETTINGS if n != "leak_diameter"]
    return [
        Section("", [*_naming_rows(desk, line.id), _role_row(desk, [line.id])]),
        Section("Size", sizes),
        Section(
            "Fault",
            [
                _value_row(desk, line, "fault", units, state=True),
                _value_row(desk, line, "leak_diameter", units),
            ],
        ),
        Section("Evidence", _evidence_rows(desk, [line.id])),
    ]


def _role_row(desk: Desk, identifiers: Sequence[str]) -> Row:
    bindings: list[Binding] = [FieldBinding(desk, i, "role") for i in identifiers]
    choices = [(role, role) for role in LINE_ROLES]
    return ChoiceRow("Role", _one(desk, "Set role", bindings), choices, resets=False)


def several_sections(desk: Desk, identifiers: Sequence[str]) -> list[Section]:
    """What several parts have in common: evidence, and the role if all are lines."""
    sections = [Section("Evidence", _evidence_rows(desk, identifiers))]
    if all(identifier in desk.circuit.lines for identifier in identifiers):
        sections.insert(0, Section("Lines", [_role_row(desk, identifiers)]))
    return sections


# -- the circuit ------------------------------------------------------------------------

_TITLE_ROWS = (
    ("name", "Title"),
    ("number", "Number"),
    ("revision", "Revision"),
    ("drawn_by", "Drawn by"),
    ("checked_by", "Checked by"),
    ("date", "Date"),
)


def circuit_sections(desk: Desk, units: DisplayUnits) -> list[Section]:
    """The title block, the fluid, the sheet and the units."""
    title: list[Row] = [
        TextRow(shown, FieldBinding(desk, "", "title", key), resets=False)
        for key, shown in _TITLE_ROWS
    ]
    title.append(NotesRow("Notes", FieldBinding(desk, "", "title", "notes")))
    liquids = [(name, name) for name in LIQUIDS]
    sizes = [(size, size) for size in SHEET_SIZES]
    fluid: list[Row] = [
        ChoiceRow("Kind", FieldBinding(desk, "", "fluid", "kind"), liquids, default=DEFAULT_LIQUID),
        QuantityRow(
            FieldBinding(desk, "", "fluid", "temperature", _check_temperature),
            TEMPERATURE,
            units,
            may_be_unknown=False,
        ),
    ]
    sheet = ChoiceRow("Size", FieldBinding(desk, "", "sheet", "size"), sizes, default="A3")
    shown = [_unit_row(desk, units, dimension) for dimension in UNIT_CHOICES]
    return [
        Section("Title block", title),
        Section("Fluid", fluid),
        Section("Sheet", [sheet]),
        Section("Shown units", shown),
    ]


def _check_temperature(raw: Any) -> None:
    """Raise CircuitError unless it is a temperature at which the liquids are known."""
    if not isinstance(raw, str):
        raise EditError("the temperature is one value, like 15 degC")
    check_value(raw, TEMPERATURE)
    value = resolve(raw, TEMPERATURE).si
    assert isinstance(value, float)
    liquid(DEFAULT_LIQUID, value)


def _unit_row(desk: Desk, units: DisplayUnits, dimension: str) -> Row:
    choices: list[tuple[Any, str]] = [(unit, typeset(unit)) for unit in UNIT_CHOICES[dimension]]
    return UnitRow(
        dimension.capitalize(),
        FieldBinding(desk, "", "display_units", dimension),
        choices,
        lambda: units.unit(dimension),
    )


class UnitRow(ChoiceRow):
    """The unit of one quantity; what is not written follows from what is."""

    def __init__(
        self,
        title: str,
        binding: Binding,
        choices: Sequence[tuple[Any, str]],
        default: Callable[[], str],
    ) -> None:
        self._follows = default
        super().__init__(title, binding, choices, default=default())

    def refresh(self) -> None:
        if self._default != self._follows():
            self._default = self._follows()
            self._shown = None
        super().refresh()
