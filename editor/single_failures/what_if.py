"""The sheet as it would be with one failure in; the drawn circuit stays as it is.

The failure is put into a copy of the circuit. The copy has a live analysis of its own,
which stands in for that of the drawn circuit, so that every pane that shows readings and
findings shows those of the copy. Levers and pumps that are worked meanwhile are the copy's.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from analysis.circuit import Circuit
from analysis.events import Change
from analysis.failure_modes import Failure, with_failure, without_stuck_lever
from editor.canvas.scene import Scene
from editor.listening import listen
from editor.live_analysis import LiveAnalysis
from editor.operation.operation import Operation
from editor.single_failures.tried_levers import TriedLevers
from editor.single_failures.words import failure_words

if TYPE_CHECKING:
    from analysis.failures import Case


class WhatIf(QObject):
    """Shows one failure at a time.

    `entered` and `left` frame the view; `left` carries why it ended, empty if it was asked
    to. `changed` tells that there is more to say about the failure that is shown.
    """

    entered = Signal()
    changed = Signal()
    left = Signal(str)

    def __init__(
        self,
        circuit: Circuit,
        scene: Scene,
        live: LiveAnalysis,
        operation: Operation,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._circuit, self._scene, self._live = circuit, scene, live
        self._operation = operation
        self._variant: LiveAnalysis | None = None
        self.levers: TriedLevers | None = None
        self.failure: Failure | None = None
        self.case: Case | None = None
        operation.started.connect(self._give_way)
        # told for what is shown as for the drawing, whichever is found later
        live.check_changed.connect(self._tell)
        listen(circuit.changed, self._on_change)

    @property
    def active(self) -> bool:
        """Whether the sheet shows a failure that is not in the drawing."""
        return self.failure is not None

    @property
    def words(self) -> str:
        """What has failed and how; empty while nothing is shown."""
        return failure_words(self._circuit, self.failure) if self.failure else ""

    @property
    def moved(self) -> list[str]:
        """Levers and pumps that stand otherwise than they are drawn, in words."""
        return self.levers.moved() if self.levers is not None else []

    def show(self, failure: Failure, case: Case | None = None) -> None:
        """Show the circuit with a failure in; `case` is what the table says of it, if it does.

        Raises
        ------
        UnknownElement, QuantityError
            If there is no such part, line or failure mode; nothing is changed then.
        """
        twin = with_failure(self._circuit, failure)
        # a stuck lever is moved by no requirement
        twin.requirements = [without_stuck_lever(r, failure) for r in twin.requirements]
        self._operation.finish()
        if self._variant is not None:
            self._close_variant()
        self.failure, self.case = failure, case
        self._variant = LiveAnalysis(twin, self, like=self._live)
        self.levers = TriedLevers(self._circuit, twin)
        listen(twin.changed, self._on_worked)
        self._scene.show_moving({}, twin)
        self._live.stand_in(self._variant)
        self.entered.emit()

    def leave(self, why: str = "") -> None:
        """Back to the drawing."""
        if self._variant is None:
            return
        self._live.stand_in(None)
        self._close_variant()
        self._variant, self.levers, self.failure, self.case = None, None, None, None
        if not self._operation.active:
            self._scene.show_moving(None)
        self.left.emit(why)

    def put_levers_back(self) -> None:
        """Levers and pumps as they are drawn, the failure still in."""
        if self.levers is not None:
            self.levers.put_back()

    def verdict_changes(self) -> tuple[list[str], list[str]] | None:
        """The requirements that no longer hold, and those that hold only now.

        None while it is not known yet. Those that take runs over time are not among them.
        """
        after = self._variant.check if self._variant is not None else None
        without = self._live.own_check
        if after is None or without is None:
            return None
        before = {v.name: v.holds for v in without.requirements if v.judged}
        now = {v.name: v.holds for v in after.requirements if v.judged}
        broken = [name for name, holds in now.items() if not holds and before.get(name)]
        mended = [name for name, holds in now.items() if holds and before.get(name) is False]
        return broken, mended

    def close(self) -> None:
        """Stop computing, as the window goes."""
        if self._variant is not None:
            self._variant.close()

    def _close_variant(self) -> None:
        assert self._variant is not None
        self._variant.close()
        self._variant.deleteLater()

    def _tell(self) -> None:
        if self.active:
            self.changed.emit()

    def _on_worked(self, change: Change) -> None:
        """A lever or pump of the copy was worked: show it where it stands now."""
        self._scene.show_component(self._circuit.components[change.subject])
        self._tell()

    def _give_way(self) -> None:
        """The clock was started: the circuit at work takes the place of the failure."""
        if self.active:
            self.leave("The clock was started: this is the circuit as it is drawn.")
            self._operation.shown.emit()

    def _on_change(self, _change: Change) -> None:
        if self.active:
            self.leave("The drawing was changed: this is the circuit as it is drawn.")
