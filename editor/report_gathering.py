"""What the report says, gathered for the command and for the window alike; no Qt here."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import TYPE_CHECKING

from analysis.circuit import Circuit

if TYPE_CHECKING:
    from analysis.failures import FailureTable
    from analysis.report import Report

Progress = Callable[[float], None]
ProgressOf = Callable[[str], AbstractContextManager[Progress | None]]
"""Gives what shall be called with the share done of one piece of work, from 0 to 1."""


def gather_report(
    circuit: Circuit,
    *,
    file_name: str,
    file_checksum: str,
    with_runs: bool,
    progress_of: ProgressOf,
    table: FailureTable | None = None,
) -> Report:
    """The report of a circuit as it stands.

    Parameters
    ----------
    with_runs
        Single failures are tried in the procedures too, and in requirements that take runs
        over time; without it against the other requirements alone.
    progress_of
        Asked for `failures` and then for `procedures`.
    table
        The failures with runs, where they are worked out already.

    Raises
    ------
    QuantityError
        If the liquid's temperature is outside -60 to 150 degC.
    """
    from analysis.failures import failures
    from analysis.report import make_report
    from editor.command_line import program_version
    from editor.unit_presets import DisplayUnits

    looked_at = circuit if with_runs else _without_runs(circuit)
    known = table if with_runs else None
    # against nothing, every failure would cost nothing
    if known is None and (looked_at.requirements or looked_at.procedures):
        with progress_of("failures") as progress:
            known = failures(looked_at, progress=progress)
    with progress_of("procedures") as progress:
        return make_report(
            circuit,
            DisplayUnits(circuit),
            file_name=file_name,
            file_checksum=file_checksum,
            version=program_version(),
            failures=known,
            progress=progress,
        )


def takes_runs(circuit: Circuit) -> bool:
    """Whether single failures can be tried in more than what is judged at once."""
    return bool(circuit.procedures) or any(
        r.get("kind") == "survives" for r in circuit.requirements
    )


def _without_runs(circuit: Circuit) -> Circuit:
    """The circuit with the functions that can be judged at once."""
    twin = circuit.copy()
    twin.procedures = []
    twin.requirements = [r for r in twin.requirements if r.get("kind") != "survives"]
    return twin
