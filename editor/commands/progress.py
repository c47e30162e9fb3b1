"""How far a long command has got, on a terminal only."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

_PATIENCE = 0.5
"""Seconds before anything is shown: what is done by then needs no line."""
_PAUSE = 0.1


@contextmanager
def progress_line(what: str) -> Iterator[Callable[[float], None] | None]:
    """A function that shows the share done, from 0 to 1, on one line of standard error.

    None where that is no terminal. The line is wiped at the end, whatever the end is.
    """
    if not sys.stderr.isatty():
        yield None
        return
    shown = time.monotonic() + _PATIENCE
    wrote = False

    def show(share: float) -> None:
        nonlocal shown, wrote
        now = time.monotonic()
        if now >= shown:
            shown, wrote = now + _PAUSE, True
            sys.stderr.write(f"\r{what}: {100 * share:3.0f} %")
            sys.stderr.flush()

    try:
        yield show
    finally:
        if wrote:
            sys.stderr.write("\r" + " " * (len(what) + 8) + "\r")
            sys.stderr.flush()
