"""What an empty sheet says: how to begin. It goes away while the first part is placed."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtWidgets import QLabel, QWidget

from analysis.circuit import Circuit
from analysis.events import Change
from editor import theme
from editor.listening import listen

_WORDS = """<p style="font-size: 13pt; font-weight: bold">An empty sheet</p>
<p>Take a symbol from the shelf: click it, then click here, or drag it here.<br>
Then drag from port to port to connect.</p>
<p>Pressures and flows show as soon as something pumps.</p>"""


class EmptyHint(QLabel):
    """Stands in the middle of the canvas while nothing is placed; clicks go through it."""

    def __init__(self, circuit: Circuit, over: QWidget) -> None:
        super().__init__(_WORDS, over)
        self._circuit, self._over = circuit, over
        self._placing = False
        self.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        palette = self.palette()
        palette.setColor(self.foregroundRole(), theme.FAINT_INK)
        self.setPalette(palette)
        self.adjustSize()
        over.installEventFilter(self)
        listen(circuit.changed, self._on_change)
        self.refresh()

    def refresh(self) -> None:
        """Show it while nothing is placed, in the middle."""
        self.setVisible(not self._circuit.components and not self._placing)
        self.move((self._over.width() - self.width()) // 2, self._over.height() // 3)

    def set_placing(self, placing: bool) -> None:
        """Make way for a symbol that is being placed: it would lie under the words."""
        self._placing = placing
        self.refresh()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep to the middle when the canvas changes its size."""
        if event.type() == QEvent.Type.Resize:
            self.refresh()
        return False

    def _on_change(self, change: Change) -> None:
        if change.action in ("added", "removed", "reset"):
            self.refresh()
