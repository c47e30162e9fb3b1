"""Subscriptions of Qt objects to the circuit, which end with the listener."""

from __future__ import annotations

import weakref
from collections.abc import Callable
from typing import Any

from shiboken6 import isValid

from analysis.events import Change, Signal


def listen(signal: Signal, method: Callable[[Change], Any]) -> Callable[[], None]:
    """Call the bound `method` at every change, as long as its object is there.

    The circuit outlives its views, so it must not keep them alive, and must not call
    one whose C++ half is gone. Returns the function that ends the subscription early.
    """
    reference = weakref.WeakMethod(method)

    def tell(change: Change) -> None:
        alive = reference()
        if alive is None or not isValid(reference_owner(alive)):
            close()
            return
        alive(change)

    close = signal.connect(tell)
    return close


def reference_owner(method: Any) -> Any:
    """The object that a bound method belongs to."""
    return method.__self__
