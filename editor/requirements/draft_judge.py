"""The verdict on a requirement that is still being written, found in a thread."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QObject, Signal

from analysis.circuit import Circuit
from analysis.findings import Verdict
from analysis.verdict_ways import Shown, shown_by
from editor.live_analysis import Job


class DraftJudge(QObject):
    """`judged` when `found` belongs to the draft that was given last, or `problem` says why not."""

    judged = Signal()

    def __init__(self, circuit: Circuit, parent: QObject) -> None:
        super().__init__(parent)
        self.found: tuple[Verdict, Shown] | None = None
        self.problem = ""
        self._draft: dict[str, Any] | None = None
        self._job = Job(circuit, self._compute, self, in_thread=True)
        self._job.finished.connect(self._take)

    def judge(self, draft: dict[str, Any]) -> None:
        """Judge this one; it must not be changed afterwards."""
        self.found, self._draft = None, draft
        self._job.start()

    def forget(self) -> None:
        """Judge none; a verdict that is still being found is not told."""
        self.found, self._draft = None, None

    def close(self) -> None:
        """Compute nothing any more."""
        self._job.close()

    def _compute(self, circuit: Circuit) -> Any:
        """In the thread: the draft is that of the moment when the thread gets to it."""
        from analysis.requirements import evaluate_one

        draft = self._draft
        if draft is None:
            return None
        verdict = evaluate_one(circuit, draft)
        return draft, verdict, shown_by(circuit, draft, verdict)

    def _take(self, result: Any, problem: Any, _elapsed_ms: float, _revision: int) -> None:
        self.problem = problem or ""
        if problem:
            self.judged.emit()
        elif result is not None and result[0] is self._draft:
            self.found = result[1], result[2]
            self.judged.emit()
