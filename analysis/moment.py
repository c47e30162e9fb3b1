"""One moment of a circuit at work, to which the motion can go back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from analysis.circuit import Circuit
from analysis.hunting import Changes
from analysis.lock_memory import LockMemory
from analysis.outlets import Outlet


@dataclass(frozen=True)
class Moment:
    """One moment of a motion: time [s], the circuit as its levers then stood, and its state."""

    time: float
    circuit: Circuit
    moving: dict[str, dict[str, Any]]
    port_pressure: dict[str, float]
    strokes: dict[str, float]
    locks: LockMemory
    uncovered: dict[Outlet, float]
    gulps: dict[str, tuple[float, ...]]
    full: frozenset[str]
    vapour: dict[str, float]
    switched: dict[str, Any]
    changes: dict[str, Changes]
    limitless: frozenset[str]
    events: int
