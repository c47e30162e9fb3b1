"""Verdicts on `survives` requirements, worked out when they are asked for.

Each takes a run over time for every failure, too long for the check after every edit. Its
verdict is kept, and stands in the check for as long as the circuit is as it was judged.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Signal

from analysis.circuit import Circuit
from analysis.events import Change
from analysis.failures_apart import VerdictApart
from analysis.findings import Verdict
from editor.apart_run import ApartRun
from editor.listening import listen
from editor.single_failures.failure_rows import run_state

if TYPE_CHECKING:
    from analysis.checks import CheckResult

GIVEN_UP = "The circuit was changed: the verdict was given up."


class Survival(QObject):
    """Judges one requirement at a time, in a process of its own.

    `changed` tells that a judgement began, ended or was given up; `progressed` carries the
    share done, 0 to 1; `found` that there is a verdict more; `failed` why there is none.
    """

    changed = Signal()
    progressed = Signal(float)
    found = Signal()
    failed = Signal(str)

    def __init__(self, circuit: Circuit, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._circuit = circuit
        self._verdicts: dict[tuple[Any, ...], Verdict] = {}
        self._asked: tuple[Any, ...] | None = None
        self._run = ApartRun(self)
        self._run.progressed.connect(self.progressed)
        self._run.finished.connect(self._take)
        listen(circuit.changed, self._on_change)

    @property
    def running(self) -> bool:
        """Whether one is being judged."""
        return self._run.running

    def is_running(self, raw: Mapping[str, Any]) -> bool:
        """Whether it is this one, as it stands in the file."""
        return self.running and self._asked is not None and self._asked[0] == repr(raw)

    def judge(self, row: int) -> None:
        """Judge the requirement of a row; one that is being judged is given up."""
        self._run.cancel()
        self._asked = self._key(self._circuit.requirements[row])
        self._run.start(partial(VerdictApart, self._circuit.copy(), row))
        self.changed.emit()

    def cancel(self) -> None:
        """Give it up."""
        if self.running:
            self._run.cancel()
            self.changed.emit()

    def close(self) -> None:
        """End all that runs, as the window goes."""
        self._run.close()

    def complete(self, check: CheckResult) -> CheckResult:
        """The check with the verdicts that are known in place of open ones."""
        written = self._circuit.requirements
        if not self._verdicts or len(check.requirements) != len(written):
            return check
        verdicts = [
            self._known(verdict, raw)
            for verdict, raw in zip(check.requirements, written, strict=True)
        ]
        return replace(check, requirements=tuple(verdicts))

    def _known(self, verdict: Verdict, raw: Mapping[str, Any]) -> Verdict:
        if verdict.judged:
            return verdict
        known = self._verdicts.get(self._key(raw))
        return verdict if known is None or known.name != verdict.name else known

    def _key(self, raw: Mapping[str, Any]) -> tuple[Any, ...]:
        """What a verdict hangs on."""
        return repr(raw), *run_state(self._circuit)

    def _take(self, verdict: Verdict | None, problem: str) -> None:
        assert self._asked is not None
        if verdict is not None:
            self._verdicts[self._asked] = verdict
            self.found.emit()
        self.changed.emit()
        if verdict is None:
            self.failed.emit(problem)

    def _on_change(self, change: Change) -> None:
        if change.action == "reset":
            self._verdicts.clear()
            self.cancel()
        elif self.running and not self._still_asked():
            self.cancel()
            self.failed.emit(GIVEN_UP)

    def _still_asked(self) -> bool:
        return any(self._key(raw) == self._asked for raw in self._circuit.requirements)
