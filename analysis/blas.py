"""One thread for small matrices.

The systems here have up to a few hundred unknowns. A second thread gains nothing on them,
and costs tens of milliseconds a solve where another process wants the same processor.
"""

from __future__ import annotations

from contextlib import AbstractContextManager
from functools import lru_cache
from typing import Any

from threadpoolctl import ThreadpoolController


@lru_cache(maxsize=1)
def _controller() -> ThreadpoolController:
    """Found once: looking for the loaded libraries takes milliseconds."""
    return ThreadpoolController()


def one_thread() -> AbstractContextManager[Any]:
    """A context in which linear algebra keeps to one thread."""
    limits: AbstractContextManager[Any] = _controller().limit(limits=1, user_api="blas")
    return limits
