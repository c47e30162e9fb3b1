"""What a run over time has found: sampled signals, events, expectations, accounts."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from analysis.procedures import Expectation

SignalValue = float | str | bool | None


@dataclass(frozen=True)
class Event:
    """Something that happened, when [s], and to what."""

    time: float
    subject: str
    message: str


@dataclass
class Accounts:
    """What must close: volumes [m3] and energies [J] since the start.

    `volume_error` is what appeared from nowhere; `volume_scale` the fluid in the circuit.
    Energy: delivered by pumps and sources, done on loads, lost in friction and passages,
    put into gas, fluid and reservoirs; the error is the first less the others.
    """

    volume_error: float = 0.0
    volume_scale: float = 0.0
    lost: float = 0.0
    delivered: float = 0.0
    load_work: float = 0.0
    dissipated: float = 0.0
    stored: float = 0.0

    @property
    def energy_error(self) -> float:
        """Energy that does not add up [J]."""
        return self.delivered - self.load_work - self.dissipated - self.stored


@dataclass
class Recording:
    """A run: `signals[name][i]` is the value at `time[i]` [SI].

    `reasons` says of each signal that has no value at some time why it has none then, and
    `left` how many steps of the procedure never came to be worked.
    """

    time: list[float] = field(default_factory=list)
    signals: dict[str, list[SignalValue]] = field(default_factory=dict)
    reasons: dict[str, str] = field(default_factory=dict)
    events: list[Event] = field(default_factory=list)
    expectations: list[Expectation] = field(default_factory=list)
    accounts: Accounts = field(default_factory=Accounts)
    steps: int = 0
    left: int = 0
    message: str = ""
    """Why the run stopped early; empty if it did not."""

    @property
    def holds(self) -> bool:
        """Whether the run was finished and every expectation holds."""
        return not self.message and all(e.holds for e in self.expectations)

    def as_json(self) -> dict[str, Any]:
        """The machine form of the contract."""
        result: dict[str, Any] = {
            "time": self.time,
            "signals": self.signals,
            "reasons": self.reasons,
            "events": [
                {"time": e.time, "subject": e.subject, "message": e.message} for e in self.events
            ],
            "expectations": [
                {"text": e.text, "holds": bool(e.holds), "time": e.time} for e in self.expectations
            ],
            "accounts": {
                "volume_error": self.accounts.volume_error,
                "volume_lost": self.accounts.lost,
                "energy_delivered": self.accounts.delivered,
                "energy_error": self.accounts.energy_error,
            },
        }
        if self.message:
            result["message"] = self.message
        return result
