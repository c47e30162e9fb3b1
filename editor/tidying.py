"""Python's collector of cyclic garbage, kept to the thread of the windows.

It runs in whatever thread happens to allocate, and it destroys what it finds: a window's
leftovers found from a worker thread are destroyed there, which ends the program in a
segmentation fault. So it is switched off, and a timer of the GUI's thread runs it instead.
"""

from __future__ import annotations

import gc

from PySide6.QtCore import QObject, QTimer

_INTERVAL_MS = 1000


class Tidying(QObject):
    """Collects garbage from a timer; what is loaded at the start is never looked at again."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        gc.disable()
        gc.collect()
        gc.freeze()
        self._timer = QTimer(self)
        self._timer.timeout.connect(self.collect)
        self._timer.start(_INTERVAL_MS)

    def collect(self) -> None:
        """Collect the youngest generation that is due, as Python would by itself."""
        for generation in (2, 1, 0):
            if gc.get_count()[generation] > gc.get_threshold()[generation]:
                gc.collect(generation)
                return
