"""The units in which a circuit is shown, and the menu that changes them."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtGui import QAction, QActionGroup, QUndoStack
from PySide6.QtWidgets import QMenu, QWidget

from analysis.circuit import Circuit
from analysis.errors import CircuitError
from analysis.quantities import check_unit, format_quantity, in_unit

_METRIC = {
    "pressure": "bar",
    "flow": "L/min",
    "length": "mm",
    "area": "cm^2",
    "volume": "L",
    "force": "N",
    "stiffness": "N/mm",
    "torque": "N*m",
    "angle": "deg",
    "displacement": "cm^3/rev",
    "speed": "rpm",
    "rate": "strokes/min",
    "velocity": "m/s",
    "time": "s",
    "temperature": "degC",
}
_INCH = {
    "pressure": "psi",
    "flow": "gal/min",
    "length": "in",
    "area": "in^2",
    "volume": "in^3",
    "force": "lbf",
    "stiffness": "lbf/in",
    "torque": "lbf*in",
    "angle": "deg",
    "displacement": "in^3/rev",
    "speed": "rpm",
    "rate": "strokes/min",
    "velocity": "ft/s",
    "time": "s",
    "temperature": "degF",
}

PRESETS: Mapping[str, Mapping[str, str]] = {
    "SI": {**_METRIC, "pressure": "MPa", "force": "kN"},
    "metric": _METRIC,
    "US": _INCH,
    "imperial": {**_INCH, "flow": "imp_gal/min", "temperature": "degC"},
}
"""Preset name -> dimension -> unit. L/min, bar, deg and rpm are accepted beside the SI."""

PRESET_TITLES: Mapping[str, str] = {
    "SI": "SI (MPa, L/min, mm, kN)",
    "metric": "Metric (bar, L/min, mm, N)",
    "US": "US (psi, US gal/min, in, lbf)",
    "imperial": "Imperial (psi, imp gal/min, in, lbf)",
}

UNIT_CHOICES: Mapping[str, tuple[str, ...]] = {
    "pressure": ("bar", "MPa", "kPa", "Pa", "psi", "kgf/cm^2"),
    "flow": ("L/min", "cm^3/s", "m^3/h", "gal/min", "imp_gal/min", "in^3/s"),
    "length": ("mm", "cm", "m", "in", "ft"),
    "volume": ("L", "cm^3", "in^3", "gal", "imp_gal", "qt"),
    "force": ("N", "kN", "kgf", "lbf"),
    "torque": ("N*m", "lbf*in", "lbf*ft"),
    "velocity": ("m/s", "mm/s", "in/s", "ft/s"),
    "temperature": ("degC", "degF", "K"),
}
"""What the menu offers for each quantity; a file may name any other unit."""

_TYPESET = (("^2", "²"), ("^3", "³"), ("*", "·"), ("imp_gal", "imp gal"))
_TYPESET_DEGREES = {"degC": "°C", "degF": "°F", "deg": "°"}


def typeset(unit: str) -> str:
    """The unit as it is printed: `in³`, `N·m`, `°C`; it can be typed so as well.

    >>> typeset("in^3/rev"), typeset("lbf*ft"), typeset("degC")
    ('in³/rev', 'lbf·ft', '°C')
    """
    if unit in _TYPESET_DEGREES:
        return _TYPESET_DEGREES[unit]
    for plain, printed in _TYPESET:
        unit = unit.replace(plain, printed)
    return unit


class DisplayUnits:
    """In which unit each quantity of a circuit is shown; it always asks the circuit."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit

    def unit(self, dimension: str) -> str:
        """The unit of a dimension, as quantities are written: `psi`, `in^3`.

        What the circuit does not name, or names wrongly, comes from the preset nearest to
        what it does name, so that a circuit in psi does not show metres per second.
        """
        chosen = self.circuit.display_units.get(dimension)
        if chosen:
            try:
                check_unit(chosen, dimension)
            except CircuitError:
                return PRESETS[self.preset()].get(dimension, "")
            return chosen
        return PRESETS[self.preset()].get(dimension, "")

    def preset(self) -> str:
        """The preset that agrees with most of what the circuit names; metric if none does."""
        chosen = self.circuit.display_units

        def agreement(name: str) -> int:
            return sum(PRESETS[name].get(dimension) == unit for dimension, unit in chosen.items())

        return max(("metric", "SI", "US", "imperial"), key=agreement)

    def is_preset(self, name: str) -> bool:
        """Whether every quantity is shown in the unit of that preset."""
        return all(self.unit(dimension) == unit for dimension, unit in PRESETS[name].items())

    def number(self, value: float, dimension: str, digits: int = 4) -> str:
        """The bare number, for a column whose heading names the unit."""
        text = format_quantity(value, self.unit(dimension) or "_", dimension, digits)
        return text.rpartition(" ")[0] if self.unit(dimension) else text

    def value(self, value: float, dimension: str) -> float:
        """An SI value as a float in the shown unit."""
        return in_unit(value, self.unit(dimension), dimension)

    def format(self, value: float, dimension: str, digits: int = 4) -> str:
        """Number and printed unit: `1000 psi`, `1.5 in³`."""
        if not self.unit(dimension):
            return f"{value:.{digits}g}"
        return f"{self.number(value, dimension, digits)} {self.symbol(dimension)}"

    def symbol(self, dimension: str) -> str:
        """The unit as it is printed: `in³`."""
        return typeset(self.unit(dimension))


def set_display_units(circuit: Circuit, stack: QUndoStack, units: Mapping[str, str]) -> None:
    """Show the circuit in these units, as one undoable command."""
    from editor.undo_commands import SetField, push

    wanted = {**circuit.display_units, **units}
    if wanted != circuit.display_units:
        push(stack, SetField(circuit, "", "display_units", wanted))


class _UnitsMenu(QMenu):
    """Presets, and below them one submenu for each quantity."""

    def __init__(self, circuit: Circuit, stack: QUndoStack, parent: QWidget | None) -> None:
        super().__init__("&Units", parent)
        self._circuit, self._stack = circuit, stack
        self._units = DisplayUnits(circuit)
        self._presets = QActionGroup(self)
        self._singles: list[QActionGroup] = []
        for name, title in PRESET_TITLES.items():
            self._add(self, self._presets, title, (name, ""))
        self.addSeparator()
        for dimension, choices in UNIT_CHOICES.items():
            submenu = self.addMenu(dimension.capitalize())
            group = QActionGroup(self)
            self._singles.append(group)
            for unit in choices:
                self._add(submenu, group, typeset(unit), (dimension, unit))
        self.aboutToShow.connect(self.refresh)
        self.triggered.connect(self._choose)
        self.refresh()

    def _add(self, menu: QMenu, group: QActionGroup, title: str, data: tuple[str, str]) -> None:
        action = menu.addAction(title)
        action.setCheckable(True)
        action.setData(data)
        group.addAction(action)

    def refresh(self) -> None:
        """Check what holds now."""
        # a circuit may hold a mixture that is no preset: then no preset is checked
        self._presets.setExclusionPolicy(QActionGroup.ExclusionPolicy.None_)
        for action in self._presets.actions():
            action.setChecked(self._units.is_preset(action.data()[0]))
        self._presets.setExclusionPolicy(QActionGroup.ExclusionPolicy.Exclusive)
        for group in self._singles:
            for action in group.actions():
                dimension, unit = action.data()
                action.setChecked(self._units.unit(dimension) == unit)

    def _choose(self, action: QAction) -> None:
        dimension, unit = action.data()
        chosen = {dimension: unit} if unit else PRESETS[dimension]
        set_display_units(self._circuit, self._stack, chosen)
        self.refresh()


def units_menu(parent: QWidget | None, circuit: Circuit, stack: QUndoStack) -> QMenu:
    """A menu of presets and of units for each quantity; each choice is undoable."""
    return _UnitsMenu(circuit, stack, parent)
