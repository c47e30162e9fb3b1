"""A small signal: the model tells, whoever listens is told; no Qt.

Subscriptions are closed explicitly: `connect` returns the function that closes it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

Action = Literal["added", "removed", "changed", "renamed", "reset"]


@dataclass(frozen=True)
class Change:
    """One change of a circuit.

    `subject` is the id of the component or line (empty: the circuit itself), `name` the
    property that changed (`settings.bore`, `state.position`, `at`, `fluid`, ...), or the
    new id of a renamed one.
    """

    action: Action
    subject: str = ""
    name: str = ""


class Signal:
    """Calls every subscriber, in the order they came, with each `Change`."""

    def __init__(self) -> None:
        self._subscribers: list[Callable[[Change], None]] = []

    def connect(self, subscriber: Callable[[Change], None]) -> Callable[[], None]:
        """Subscribe; returns the function that ends the subscription."""
        self._subscribers.append(subscriber)

        def close() -> None:
            if subscriber in self._subscribers:
                self._subscribers.remove(subscriber)

        return close

    def emit(self, change: Change) -> None:
        """Tell every subscriber."""
        for subscriber in tuple(self._subscribers):
            subscriber(change)
