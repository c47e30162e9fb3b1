"""What takes runs over time with failures in: the failure table, and a `survives` verdict.

Each is worked out in a process of its own (`analysis.apart`), and shared out over all cores.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from analysis.apart import Apart, Progress, Tell
from analysis.circuit import Circuit

if TYPE_CHECKING:
    from analysis.failures import FailureTable
    from analysis.findings import Verdict


class FailuresApart(Apart):
    """The table of `analysis.failures.failures`; `workers` processes, one a core if not given."""

    def __init__(self, circuit: Circuit, tell: Tell, *, workers: int | None = None) -> None:
        super().__init__(circuit, partial(_table, workers), tell, what="The failures")


class VerdictApart(Apart):
    """The verdict on one requirement of the circuit, the one at `index` in its list."""

    def __init__(self, circuit: Circuit, index: int, tell: Tell) -> None:
        super().__init__(circuit, partial(_verdict, index), tell, what="The runs")


def _table(workers: int | None, circuit: Circuit, progress: Progress) -> FailureTable:
    from analysis.failures import failures

    return failures(circuit, progress=progress, workers=workers)


def _verdict(index: int, circuit: Circuit, progress: Progress) -> Verdict:
    from analysis.requirements import evaluate_one

    requirement = circuit.requirements[index]
    return evaluate_one(circuit, requirement, index + 1, progress=progress)
