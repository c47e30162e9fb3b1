"""The failure table worked out in a process of its own, which can be ended at any time.

It takes seconds to minutes and all cores. In its own process it holds up nobody: not by
the interpreter's lock, and not at the end of a long task, since a process can be ended in
the middle of one.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any, Literal

from analysis.circuit import Circuit
from analysis.errors import CircuitError

_POLITENESS = 5
"""Steps that its processes stand back behind whatever answers the pointer."""

_PATIENCE = 2.0
"""Time [s] that an ended process has to end those it started."""

Kind = Literal["progress", "table", "problem"]
Tell = Callable[[Kind, Any], None]


class FailuresApart:
    """One computation of `analysis.failures.failures`, in a process of its own.

    Parameters
    ----------
    circuit
        A copy that nobody changes any more.
    tell
        Called from a thread: with `progress` and the share done, 0 to 1; at the end once,
        with `table` and the `FailureTable`, or with `problem` and a line that says why
        there is none. After `cancel` it is called no more.
    workers
        How many processes share the work; one a core if not given.
    """

    def __init__(self, circuit: Circuit, tell: Tell, *, workers: int | None = None) -> None:
        self._circuit, self._tell, self._workers = circuit, tell, workers
        self._cancelled = threading.Event()
        self._process: BaseProcess | None = None
        self._lock = threading.Lock()
        # starting a process and handing it a large circuit takes longer than a frame
        self._thread = threading.Thread(target=self._work, name="failures", daemon=True)

    def start(self) -> None:
        """Begin; returns at once."""
        self._thread.start()

    def cancel(self) -> None:
        """End it; returns at once, the processes end within a moment."""
        self._cancelled.set()
        with self._lock:
            if self._process is not None and self._process.is_alive():
                self._process.terminate()

    def join(self, timeout: float) -> None:
        """Wait until all is over, for so many seconds at most."""
        self._thread.join(timeout)

    def _work(self) -> None:
        outcome: tuple[Kind, Any] | None = None
        try:
            outcome = self._receive()
        except OSError as error:
            outcome = "problem", f"The computation could not be started: {error}"
        finally:
            self._end_process()
        if not self._cancelled.is_set():
            self._tell(*(outcome or ("problem", "The computation ended unexpectedly; try again")))

    def _receive(self) -> tuple[Kind, Any] | None:
        """What the process has to say at last; None if it went without a word."""
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe()
        with self._lock:
            if self._cancelled.is_set():
                return None
            process = context.Process(target=_serve, args=(theirs,), name="failures")
            process.start()
            self._process = process
        theirs.close()
        with ours, contextlib.suppress(EOFError, OSError):
            ours.send((self._circuit, self._workers))
            while True:
                kind, value = ours.recv()
                if kind != "progress":
                    return kind, value
                if not self._cancelled.is_set():
                    self._tell(kind, value)
        return None

    def _end_process(self) -> None:
        process = self._process
        if process is None:
            return
        process.join(_PATIENCE)
        if process.is_alive():
            process.kill()
            process.join(_PATIENCE)


def _serve(connection: Connection) -> None:
    """In the process: work out the table, tell how far it is, and give it back."""
    owner = os.getpid()

    def end(_number: int, _frame: object) -> None:
        # the processes that share the work are forked from here, and go without ado
        if os.getpid() != owner:
            os._exit(1)
        raise SystemExit(1)

    signal.signal(signal.SIGTERM, end)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(os, "nice"):
        os.nice(_POLITENESS)
    with contextlib.suppress(EOFError, BrokenPipeError):
        circuit, workers = connection.recv()
        connection.send(
            _outcome(circuit, workers, lambda share: connection.send(("progress", share)))
        )


def _outcome(
    circuit: Circuit, workers: int | None, progress: Callable[[float], None]
) -> tuple[Kind, Any]:
    from analysis.failures import failures

    try:
        return "table", failures(circuit, progress=progress, workers=workers)
    except CircuitError as error:
        return "problem", str(error)
    except BrokenPipeError:
        raise  # whoever asked is gone
    except Exception as error:  # whatever it is, the editor goes on and says so
        return "problem", f"The computation failed ({type(error).__name__}: {error})"
