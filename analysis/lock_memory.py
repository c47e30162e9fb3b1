"""Which end locks have let go, and which members have left those stops since."""

from __future__ import annotations

from analysis.devices import Lock
from analysis.network import Network

End = tuple[str, str]
"""A cylinder's id, and `retracted` or `extended`."""


class LockMemory:
    """How the end locks stand between one network and the next.

    Attributes
    ----------
    released
        Whether each lock has let go.
    left
        The stops that their members have left since.
    """

    def __init__(self) -> None:
        self.released: dict[End, bool] = {}
        self.left: set[End] = set()

    def take(self, lock: Lock, extension: float, travel: float, network: Network) -> None:
        """A lock is as the last event left it; at first, held if its member stands there locked.

        `extension` and `travel` are of its cylinder [m].
        """
        key = (lock.owner, lock.end)
        if key not in self.released:
            slack = 1e-6 * travel
            there = extension <= slack if lock.end == "retracted" else extension >= travel - slack
            self.released[key] = not (there and lock.held)
            if not there:
                self.left.add(key)
        if self.released[key]:
            lock.release(network)
        else:
            lock.hold(network)

    def mark(self, identifier: str, end: str, *, released: bool) -> None:
        """Remember that a lock let go or engaged."""
        self.released[identifier, end] = released
        self.left.discard((identifier, end))

    def leave(self, identifier: str, end: str) -> None:
        """Remember that a member is away from that stop."""
        self.left.add((identifier, end))

    def has_left(self, identifier: str, end: str) -> bool:
        """Whether a member has been away from that stop since its lock let go."""
        return (identifier, end) in self.left

    def copy(self) -> LockMemory:
        """The same, to be changed on its own."""
        twin = LockMemory()
        twin.released, twin.left = dict(self.released), set(self.left)
        return twin
