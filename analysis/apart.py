"""Something worked out in a process of its own, which can be ended at any time.

What takes seconds to minutes and all cores holds up nobody in its own process: not by the
interpreter's lock, and not at the end of a long task, since a process can be ended in the
middle of one. It is a fresh interpreter that imports what its task needs and nothing else.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import signal
import subprocess
import sys
import threading
from collections.abc import Callable
from typing import IO, Any, Literal

from analysis.circuit import Circuit
from analysis.errors import CircuitError

_POLITENESS = 5
"""Steps that its processes stand back behind whatever answers the pointer."""

Kind = Literal["progress", "result", "problem"]
Tell = Callable[[Kind, Any], None]
Progress = Callable[[float], None]
Work = Callable[[Circuit, Progress], Any]


class Apart:
    """One computation, in a process of its own.

    Parameters
    ----------
    circuit
        A copy that nobody changes any more.
    work
        Gets the circuit and what it shall call with the share done, 0 to 1; what it returns
        is the result. A function of a module, or a `partial` of one, so that it is found
        again by its name.
    tell
        Called from a thread: with `progress` and the share done; at the end once, with
        `result` and what was worked out, or with `problem` and a line that says why there
        is nothing. After `cancel` it is called no more.
    what
        What is worked out, as the subject of a sentence in the plural: `The failures`.
    """

    def __init__(self, circuit: Circuit, work: Work, tell: Tell, *, what: str) -> None:
        self._circuit, self._work_of, self._tell, self._what = circuit, work, tell, what
        self._cancelled = threading.Event()
        self._process: subprocess.Popen[bytes] | None = None
        self._lock = threading.Lock()
        # starting a process and handing it a large circuit takes longer than a frame
        self._thread = threading.Thread(target=self._work, name="apart", daemon=True)

    def start(self) -> None:
        """Begin; returns at once."""
        self._thread.start()

    def cancel(self) -> None:
        """End it, in the middle of whatever it is at; returns at once."""
        self._cancelled.set()
        with self._lock:
            if self._process is not None and self._process.poll() is None:
                _end(self._process)

    def join(self, timeout: float) -> None:
        """Wait until all is over, for so many seconds at most."""
        self._thread.join(timeout)

    def _work(self) -> None:
        outcome: tuple[Kind, Any] | None
        try:
            outcome = self._receive()
        except Exception as error:  # told in a line, whatever keeps it from being done
            outcome = "problem", f"{self._what} cannot be worked out: {error}"
        if self._process is not None:
            self._process.wait()
        if not self._cancelled.is_set():
            self._tell(*(outcome or ("problem", "The computation ended unexpectedly; try again")))

    def _receive(self) -> tuple[Kind, Any] | None:
        """What the process has to say at last; None if it went without a word."""
        with self._lock:
            if self._cancelled.is_set():
                return None
            self._process = process = _begin()
        assert process.stdin is not None and process.stdout is not None
        # a process that is gone is told by the pipes: broken, or at their end
        with process.stdout as answers, contextlib.suppress(EOFError, OSError):
            with process.stdin as asked:
                pickle.dump((self._circuit, self._work_of), asked)
            while True:
                kind, value = pickle.load(answers)
                if kind != "progress":
                    return kind, value
                if not self._cancelled.is_set():
                    self._tell(kind, value)
        return None


def _begin() -> subprocess.Popen[bytes]:
    program = f"import sys; sys.path[:] = {sys.path!r}; from analysis import apart as a"
    return subprocess.Popen(
        [sys.executable, "-c", f"{program}; a.serve()"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        # a group of its own, with which those that share the work are ended too
        start_new_session=True,
    )


def _end(process: subprocess.Popen[bytes]) -> None:
    if hasattr(os, "killpg"):
        with contextlib.suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
    else:
        process.kill()


def serve() -> None:
    """In the process: do the work that is handed in on its circuit, and hand the result back."""
    if hasattr(os, "nice"):
        os.nice(_POLITENESS)
    # whatever prints goes elsewhere: this way is for what is told
    # where nobody listens any more there is nothing left to do
    with contextlib.suppress(BrokenPipeError), os.fdopen(os.dup(1), "wb") as answers:
        os.dup2(2, 1)
        circuit, work = pickle.load(sys.stdin.buffer)
        _send(answers, *_outcome(circuit, work, answers))


def _send(answers: IO[bytes], kind: Kind, value: Any) -> None:
    pickle.dump((kind, value), answers)
    answers.flush()


def _outcome(circuit: Circuit, work: Work, answers: IO[bytes]) -> tuple[Kind, Any]:
    def progress(share: float) -> None:
        _send(answers, "progress", share)

    try:
        return "result", work(circuit, progress)
    except CircuitError as error:
        return "problem", str(error)
    except BrokenPipeError:
        raise
    except Exception as error:  # whatever it is, the editor goes on and says so
        return "problem", f"The computation failed ({type(error).__name__}: {error})"
