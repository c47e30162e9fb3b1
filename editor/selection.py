"""What is selected: one list of ids, shared by the canvas, the form and the tables."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import QObject, Signal

from analysis.circuit import Circuit
from analysis.events import Change


class Selection(QObject):
    """The ids of the selected components and lines, in the order they were selected.

    `changed` is emitted when the list changes, and only then; `reveal_requested` carries
    the id that the canvas shall bring into view.
    """

    changed = Signal()
    reveal_requested = Signal(str)

    def __init__(self, circuit: Circuit | None = None, parent: QObject | None = None) -> None:
        """Follow `circuit`, if given: removed elements drop out, renamed ones keep selected."""
        super().__init__(parent)
        self._ids: tuple[str, ...] = ()
        self._circuit = circuit
        self._unsubscribe = circuit.changed.connect(self._on_change) if circuit else None

    def ids(self) -> tuple[str, ...]:
        """The selected ids."""
        return self._ids

    def set(self, ids: Iterable[str], *, reveal: bool = False) -> None:
        """Select these and no others; `reveal` asks the canvas to show the first of them."""
        wanted = tuple(dict.fromkeys(ids))
        if wanted != self._ids:
            self._ids = wanted
            self.changed.emit()
        if reveal and wanted:
            self.reveal_requested.emit(wanted[0])

    def toggle(self, identifier: str) -> None:
        """Add the id, or take it out if it is in."""
        if identifier in self._ids:
            self.set(i for i in self._ids if i != identifier)
        else:
            self.set((*self._ids, identifier))

    def clear(self) -> None:
        """Select nothing."""
        self.set(())

    def close(self) -> None:
        """Stop following the circuit."""
        if self._unsubscribe:
            self._unsubscribe()
            self._unsubscribe = None

    def _on_change(self, change: Change) -> None:
        if change.action == "renamed":
            self.set(change.name if i == change.subject else i for i in self._ids)
        elif change.action == "removed":
            self.set(i for i in self._ids if i != change.subject)
        elif change.action == "reset" and self._circuit is not None:
            self.set(i for i in self._ids if i in self._circuit)
