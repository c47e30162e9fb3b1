"""The menu that changes the units in which a circuit is shown."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtGui import QAction, QActionGroup, QUndoStack
from PySide6.QtWidgets import QMenu, QWidget

from analysis.circuit import Circuit
from editor.unit_presets import PRESET_TITLES, PRESETS, DisplayUnits, typeset

__all__ = [
    "PRESETS",
    "PRESET_TITLES",
    "UNIT_CHOICES",
    "DisplayUnits",
    "set_display_units",
    "typeset",
    "units_menu",
]

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
