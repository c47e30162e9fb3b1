"""The readings and findings of the circuit on the sheet, kept up to date by themselves.

Several changes of one gesture are answered once. Readings are computed in the GUI
thread while they are quick, which saves the copy; a slow circuit goes to a worker thread
on a copy, so that the pointer never waits.
"""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable
from time import perf_counter, thread_time
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, QTimer, Signal

from analysis.circuit import Circuit
from analysis.errors import CircuitError
from analysis.events import Change
from editor.listening import listen

if TYPE_CHECKING:
    from analysis.checks import CheckResult
    from analysis.readings import Readings

SLOW_MS = 50.0
"""What took more than this of the processor's time is computed in a thread the next time.

Not of the clock's: where other work slows the machine down, a thread that shares the
interpreter with the window would take longer still, and so never come back.
"""

IDLE_MS = 200
"""How long the circuit rests before it is checked."""

_DRAWING = {"at", "turn", "mirror", "via", "title", "sheet", "display_units"}
"""Fields that say how the circuit is drawn, on which no result depends."""

_CHECK_ONLY = {"requirements", "procedures", "waivers", "evidence", "role"}
"""Fields that findings may depend on, but no pressure."""


class Job(QObject):
    """One computation, kept running at most once at a time and never stale at its end."""

    finished = Signal(object, object, float, int)
    _returned = Signal(object, object, float, float, int)

    def __init__(
        self,
        circuit: Circuit,
        compute: Callable[[Circuit], Any],
        parent: QObject,
        *,
        in_thread: bool = False,
    ) -> None:
        """`in_thread`: always in a thread, however quick it was the last time."""
        super().__init__(parent)
        self._in_thread = in_thread
        self._circuit = circuit
        self._compute = compute
        self._thread: threading.Thread | None = None
        self._again = self._is_closed = False
        self.cost_ms = 0.0
        # emitted by the worker thread, therefore answered in the thread of this object
        self._returned.connect(self._take)

    @property
    def busy(self) -> bool:
        return self._thread is not None

    def start(self) -> None:
        """Compute for the circuit as it is now; `finished` tells the outcome."""
        if self._thread is not None:
            self._again = True
            return
        # the first time costs the import of the numerics, far longer than a frame
        quick = self.cost_ms <= SLOW_MS and "analysis.checks" in sys.modules
        if quick and not self._in_thread:
            self._take(*_timed(self._compute, self._circuit), self._circuit.revision)
            return
        twin, revision = self._circuit.copy(), self._circuit.revision
        self._thread = threading.Thread(
            target=self._work, args=(twin, revision), name="analysis", daemon=True
        )
        self._thread.start()

    def _work(self, twin: Circuit, revision: int) -> None:
        outcome = _timed(self._compute, twin)
        try:
            self._returned.emit(*outcome, revision)
        except RuntimeError:
            return  # the window closed meanwhile; nobody waits for the outcome

    def _take(
        self, result: Any, problem: Any, elapsed_ms: float, cost_ms: float, revision: int
    ) -> None:
        self._thread = None
        self.cost_ms = cost_ms
        again, self._again = self._again, False
        self.finished.emit(result, problem, elapsed_ms, revision)
        if again:
            self.start()

    def close(self) -> None:
        if self._is_closed:
            return
        self._is_closed, self._again = True, False
        thread, self._thread = self._thread, None
        self._returned.disconnect(self._take)
        if thread is not None:
            thread.join(timeout=5.0)


class LiveAnalysis(QObject):
    """Readings and findings of a circuit, recomputed whenever it changes.

    Attributes
    ----------
    readings
        The latest readings, or None while there are none or none can be computed.
    check
        The latest findings and verdicts, or None.
    own_check
        Those of this circuit, also while another one stands in for it.
    complete
        Puts verdicts that were found elsewhere in place of those that were not judged here.
    problem
        Why there are no readings, in one line; empty while there are.
    elapsed_ms
        How long the latest readings took.
    figures_due
        False for readings of a frame in between, which only the sheet shows: figures that
        change sixty times a second cannot be read.
    """

    readings_changed = Signal()
    check_changed = Signal()
    failed = Signal(str)

    def __init__(
        self, circuit: Circuit, parent: QObject | None = None, *, like: LiveAnalysis | None = None
    ) -> None:
        """`like` analyses a similar circuit: what it found and how long it took is a start."""
        super().__init__(parent)
        self.circuit = circuit
        self.readings: Readings | None = None
        self._start_from = like.readings if like is not None else None
        self.check: CheckResult | None = None
        self.own_check: CheckResult | None = None
        self._found_check: CheckResult | None = None
        self.complete: Callable[[CheckResult], CheckResult] = _as_it_is
        self.problem = ""
        self.elapsed_ms = 0.0
        self._readings_revision = -1
        self._presenting = False
        self.figures_due = True
        self._other: LiveAnalysis | None = None
        self._soon = _single_shot(self, 0, self._start_readings)
        self._idle = _single_shot(self, IDLE_MS, self._start_check)
        self._readings_job = Job(circuit, self._compute_readings, self)
        self._readings_job.finished.connect(self._take_readings)
        # one requirement more can make a quick check slow, so it never runs in the GUI thread
        self._check_job = Job(circuit, _compute_check, self, in_thread=True)
        self._check_job.finished.connect(self._take_check)
        if like is not None:
            self._readings_job.cost_ms = like._readings_job.cost_ms
            self._check_job.cost_ms = like._check_job.cost_ms
        self._stop_listening = listen(circuit.changed, self._on_change)
        self.recompute()

    def present(self, readings: Readings | None, *, figures: bool = True) -> None:
        """Show these readings, of a circuit at work, in place of the instant's; None ends it.

        `figures`: they are to be read, too, and not only seen on the sheet.
        """
        self._presenting = readings is not None
        self.figures_due = figures or readings is None
        if readings is None:
            self.readings = None
            self.recompute()
        else:
            self.readings, self.problem = readings, ""
            self.readings_changed.emit()

    def stand_in(self, other: LiveAnalysis | None) -> None:
        """Show what is found of another circuit in place of this one; None ends it.

        `other` analyses a variant of the circuit that is drawn; it goes on by itself and is
        closed by whoever made it.
        """
        if self._other is not None:
            self._other.readings_changed.disconnect(self._take_others_readings)
            self._other.check_changed.disconnect(self._take_others_check)
        self._other = other
        if other is None:
            # what is shown now is of the other circuit, and must not pass for this one's
            self.readings, self.check, self.problem = None, self.own_check, ""
            self.readings_changed.emit()
            self.check_changed.emit()
            self.recompute()
        else:
            other.readings_changed.connect(self._take_others_readings)
            other.check_changed.connect(self._take_others_check)
            self._take_others_readings()
            self._take_others_check()

    def _take_others_readings(self) -> None:
        assert self._other is not None
        self.readings, self.problem = self._other.readings, self._other.problem
        self.elapsed_ms = self._other.elapsed_ms
        self.readings_changed.emit()

    def _take_others_check(self) -> None:
        assert self._other is not None
        self.check = self._other.check
        self.check_changed.emit()

    @property
    def is_current(self) -> bool:
        """Whether the readings belong to the circuit as it is now."""
        if self._other is not None:
            return self._other.is_current
        return not (self._soon.isActive() or self._readings_job.busy)

    @property
    def is_check_current(self) -> bool:
        """Whether the findings belong to the circuit as it is now."""
        if self._other is not None:
            return self._other.is_check_current
        return not (self._idle.isActive() or self._check_job.busy)

    def recompute(self) -> None:
        """Compute everything again, soon."""
        self._soon.start()
        self._idle.start()

    def close(self) -> None:
        """Stop computing; the object answers no change any more."""
        self._stop_listening()
        self._soon.stop()
        self._idle.stop()
        self._readings_job.close()
        self._check_job.close()

    def _on_change(self, change: Change) -> None:
        if change.action == "changed" and change.name in _DRAWING:
            return
        if not (change.action == "changed" and change.name in _CHECK_ONLY):
            self._soon.start()
        self._idle.start()

    def _start_readings(self) -> None:
        if self._presenting or self._other is not None:
            return
        self._readings_job.start()

    def _start_check(self) -> None:
        self._check_job.start()

    def _compute_readings(self, circuit: Circuit) -> Any:
        from analysis.readings import readings

        return readings(circuit, start=self.readings or self._start_from)

    def _take_readings(self, result: Any, problem: Any, elapsed_ms: float, revision: int) -> None:
        if self._presenting or self._other is not None:
            return
        self.readings, self.elapsed_ms = result, elapsed_ms
        self._readings_revision = revision
        self.problem = problem or ""
        self.readings_changed.emit()
        if problem:
            self.failed.emit(problem)

    def complete_check(self) -> None:
        """Tell the latest findings, with what is known elsewhere of open verdicts."""
        found = self._found_check
        self.own_check = self.complete(found) if found is not None else None
        if self._other is None:
            self.check = self.own_check
        self.check_changed.emit()

    def _take_check(self, result: Any, problem: Any, _elapsed_ms: float, _revision: int) -> None:
        self._found_check = result
        self.complete_check()
        if problem and problem != self.problem:
            self.failed.emit(problem)


def _as_it_is(found: CheckResult) -> CheckResult:
    return found


def _compute_check(circuit: Circuit) -> Any:
    from analysis.checks import check

    return check(circuit, with_runs=False)


def _timed(
    compute: Callable[[Circuit], Any], circuit: Circuit
) -> tuple[Any, str | None, float, float]:
    """(result, problem, milliseconds by the clock, of the processor's time).

    One of result and problem is None.
    """
    begun, used = perf_counter(), thread_time()
    result, problem = None, None
    try:
        result = compute(circuit)
    except CircuitError as error:
        problem = str(error)
    except Exception as error:  # whatever it is, drawing must go on and say so
        name = type(error).__name__
        problem = f"The analysis failed ({name}: {error}); undo the last change to go on"
    elapsed, cost = perf_counter() - begun, thread_time() - used
    return result, problem, elapsed * 1000.0, cost * 1000.0


def _single_shot(parent: QObject, interval_ms: int, slot: Callable[[], None]) -> QTimer:
    timer = QTimer(parent)
    timer.setSingleShot(True)
    timer.setInterval(interval_ms)
    timer.timeout.connect(slot)
    return timer
