"""Works something out in a process of its own; can be given up at any time."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QObject, Signal

from analysis.apart import Apart, Tell


class ApartRun(QObject):
    """At most one computation at a time.

    `progressed` carries the share done, 0 to 1; `finished` the result, or None and why there
    is none.
    """

    started = Signal()
    progressed = Signal(float)
    finished = Signal(object, str)
    cancelled = Signal()
    _told = Signal(int, str, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._apart: Apart | None = None
        self._number = 0
        # emitted by the computation's thread, therefore answered in the thread of this object
        self._told.connect(self._take)

    @property
    def running(self) -> bool:
        """Whether something is being worked out."""
        return self._apart is not None

    def start(self, make: Callable[[Tell], Apart]) -> None:
        """Begin what `make` makes of whom it shall tell; one that is on is given up."""
        self.cancel()
        self._number += 1
        self._apart = make(_Teller(self, self._number))
        self._apart.start()
        self.started.emit()

    def cancel(self) -> None:
        """Give it up."""
        apart, self._apart = self._apart, None
        if apart is not None:
            self._number += 1
            apart.cancel()
            self.cancelled.emit()

    def close(self) -> None:
        """End all that runs, as the window goes."""
        apart, self._apart = self._apart, None
        self._number += 1
        if apart is not None:
            apart.cancel()
            apart.join(5.0)

    def _take(self, number: int, kind: str, value: Any) -> None:
        if number != self._number or self._apart is None:
            return  # it was given up meanwhile
        if kind == "progress":
            self.progressed.emit(value)
            return
        self._apart = None
        if kind == "result":
            self.finished.emit(value, "")
        else:
            self.finished.emit(None, str(value))


class _Teller:
    """Hands on what the computation's thread tells, with the number of the computation."""

    def __init__(self, run: ApartRun, number: int) -> None:
        self._run, self._number = run, number

    def __call__(self, kind: str, value: Any) -> None:
        try:
            self._run._told.emit(self._number, kind, value)
        except RuntimeError:
            return  # the window closed meanwhile; nobody waits for the outcome
