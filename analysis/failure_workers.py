"""Work shared out over processor cores, in a stated order, and given up at once on Ctrl-C."""

from __future__ import annotations

import gc
import os
import signal
import sys
import threading
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from multiprocessing.context import BaseContext

_Task = TypeVar("_Task")
_Result = TypeVar("_Result")

Progress = Callable[[float], None]

_COLLECTED_AFTER = 50_000
"""Objects [1] after which a worker looks for what is no longer needed: some 10 MB."""


def cores() -> int:
    """The processor cores this program may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def share_out(
    work: Callable[[_Task], _Result],
    tasks: Sequence[_Task],
    *,
    workers: int | None = None,
    progress: Progress | None = None,
) -> list[_Result]:
    """The results of the tasks, in their order; with one worker, in this process.

    Parameters
    ----------
    work
        Can be pickled: a function of a module, or a `functools.partial` of one.
    workers
        How many processes; one a core if not given.
    progress
        Called with the share done, from 0 to 1, by the caller's own thread. What it
        raises ends the work.
    """
    count = min(workers or cores(), len(tasks))
    results: list[Any] = [None] * len(tasks)
    if count <= 1:
        for number, task in enumerate(tasks):
            results[number] = work(task)
            _tell(progress, number + 1, len(tasks))
        return results
    # leaving the block, by whatever way, ends the workers
    with _context().Pool(count, _begin, (work,)) as pool:
        answers = pool.imap_unordered(_do, enumerate(tasks))
        for done, (number, result) in enumerate(answers, start=1):
            results[number] = result
            _tell(progress, done, len(tasks))
    return results


def _tell(progress: Progress | None, done: int, of: int) -> None:
    if progress is not None:
        progress(done / of)


def _context() -> BaseContext:
    """Forked where that is safe, since it is quick; a fresh interpreter elsewhere."""
    import multiprocessing  # only now: most commands never need it

    alone = threading.active_count() == 1 and "PySide6.QtCore" not in sys.modules
    can_fork = "fork" in multiprocessing.get_all_start_methods() and sys.platform == "linux"
    return multiprocessing.get_context("fork" if alone and can_fork else "spawn")


_work: Callable[[Any], Any] | None = None


def _begin(work: Callable[[Any], Any]) -> None:
    """In a worker: keep what is to be done, and leave Ctrl-C to the caller."""
    global _work
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    # what was there before stays, and need not be looked through again and again for what does not
    gc.freeze()
    gc.set_threshold(_COLLECTED_AFTER)
    _work = work


def _do(numbered: tuple[int, Any]) -> tuple[int, Any]:
    number, task = numbered
    assert _work is not None
    return number, _work(task)
