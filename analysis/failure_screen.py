"""Which failures cannot matter to a procedure: seen from its run without any failure."""

from __future__ import annotations

from analysis.circuit import Circuit
from analysis.failure_modes import Failure
from analysis.motion import Motion
from analysis.procedures import Procedure


class ScreeningMotion(Motion):
    """A motion that watches, while it goes, which failures would change anything."""

    def __init__(self, circuit: Circuit, failures: tuple[Failure, ...]) -> None:
        self.failures = failures
        super().__init__(circuit)

    def idle(self, procedure: Procedure) -> tuple[Failure, ...]:
        return ()
