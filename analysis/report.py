"""The report: everything that is known of a circuit, gathered for another person to check."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Protocol

from analysis.assemble import liquid_of
from analysis.checks import CheckResult, check
from analysis.circuit import Circuit
from analysis.failures import FailureTable
from analysis.findings import Finding
from analysis.liquids import DEFAULT_LIQUID, LIQUIDS
from analysis.parts_list import PartRow, parts_list
from analysis.plain_text import with_degree_signs
from analysis.reach_matrix import ReachMatrix, find_reach_matrix
from analysis.readings import Readings, readings
from analysis.report_questions import OpenQuestion, find_questions, is_shown
from analysis.report_runs import RunResult, run_procedures
from analysis.report_settings import LeverSetting, find_settings
from analysis.report_ways import WayPicture, picture_of
from analysis.rules import is_signed
from analysis.words import named

Rows = tuple[tuple[str, ...], ...]


class Units(Protocol):
    """In which unit a quantity is shown."""

    def format(self, value: float, dimension: str) -> str:
        """Number and unit of an SI value."""

    def number(self, value: float, dimension: str) -> str:
        """The number alone, for a column that names the unit."""

    def symbol(self, dimension: str) -> str:
        """The unit as it is printed."""


@dataclass(frozen=True)
class WaiverRow:
    """A waiver as it is written on an element, and what it does: a sentence."""

    subject: str
    rule: str
    reason: str
    by: str
    date: str
    effect: str


@dataclass(frozen=True)
class Report:
    """What a report says.

    Attributes
    ----------
    file_checksum
        The SHA-256 of the file that was read.
    fluid
        (title, text).
    settings
        The readings, first of the circuit as it stands, then with its levers set otherwise.
    pictures
        What is drawn to show the verdict on each requirement; None where nothing can be.
    runs
        The procedures and what came of them.
    faults
        (id, name, failure) of what is drawn as failed.
    failures, failures_of_procedures
        The table, None where it was not worked out; and whether it holds procedures too.
    codes
        The code (`R1`, `P1`) of each requirement and procedure by its name.
    """

    circuit: Circuit
    file_name: str
    file_checksum: str
    version: str
    parts: tuple[PartRow, ...]
    fluid: Rows
    settings: tuple[LeverSetting, ...]
    checked: CheckResult
    pictures: tuple[WayPicture | None, ...]
    matrix: ReachMatrix
    runs: tuple[RunResult, ...]
    waivers: tuple[WaiverRow, ...]
    questions: tuple[OpenQuestion, ...]
    faults: Rows
    failures: FailureTable | None
    failures_of_procedures: bool
    codes: Mapping[str, str]

    @property
    def readings(self) -> Readings:
        """Those of the circuit as it stands."""
        return self.settings[0].readings

    def is_shown(self, number: int) -> bool:
        """Whether something shows the verdict on the requirement of that number, from 1.

        Nothing does where it is not judged, or cannot be.
        """
        verdict, picture = self.checked.requirements[number - 1], self.pictures[number - 1]
        return is_shown(verdict, picture)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """The findings that nobody has waived."""
        return tuple(f for f in self.checked.findings if f.waived is None)

    @property
    def waived(self) -> tuple[Finding, ...]:
        """The findings that somebody has waived."""
        return tuple(f for f in self.checked.findings if f.waived is not None)


def make_report(
    circuit: Circuit,
    units: Units,
    *,
    file_name: str,
    file_checksum: str,
    version: str,
    failures: FailureTable | None = None,
    progress: Callable[[float], None] | None = None,
) -> Report:
    """Gather the report of a circuit as it stands.

    Parameters
    ----------
    circuit
        Not changed.
    units
        In which the values are shown.
    file_name, file_checksum
        Name and SHA-256 of the file that the circuit was read from.
    version
        The program's.
    failures
        Its table of single failures, if it has been worked out.
    progress
        Called with the share done, from 0 to 1: procedures take seconds to run.

    Raises
    ------
    QuantityError
        If the liquid's temperature is outside -60 to 150 degC.
    """
    instant = readings(circuit)
    checked = check(circuit, instant=instant)
    pictures = tuple(
        picture_of(circuit, requirement, verdict, number)
        for number, (requirement, verdict) in enumerate(
            zip(circuit.requirements, checked.requirements, strict=True), start=1
        )
    )
    runs = run_procedures(circuit, progress)
    count = len(checked.requirements) + len(runs)
    of_procedures = bool(runs) and failures is not None and len(failures.functions) == count
    codes = _codes(circuit, checked, runs, failures)
    return Report(
        circuit,
        file_name,
        file_checksum,
        version,
        parts_list(circuit),
        _fluid(circuit, units),
        find_settings(circuit, instant),
        checked,
        pictures,
        find_reach_matrix(circuit),
        runs,
        tuple(_waivers(circuit, checked)),
        tuple(find_questions(circuit, checked.requirements, pictures, runs, failures, codes)),
        _faults(circuit),
        failures,
        of_procedures,
        codes,
    )


def _codes(
    circuit: Circuit,
    checked: CheckResult,
    runs: tuple[RunResult, ...],
    failures: FailureTable | None,
) -> dict[str, str]:
    """The code of each function by the name that the table of failures has for it.

    The table tells those apart that stand under one name, so that its order says which is
    which. Without a table a requirement goes before a procedure of the same name.
    """
    requirements = [(v.name, f"R{n}") for n, v in enumerate(checked.requirements, 1)]
    procedures = [(run.name, f"P{run.number}") for run in runs]
    at_once = [
        pair
        for pair, raw in zip(requirements, circuit.requirements, strict=True)
        if raw.get("kind") != "survives"
    ]
    names = failures.functions if failures is not None else ()
    for functions in ([*requirements, *procedures], at_once):
        if len(functions) == len(names):
            return {name: code for name, (_, code) in zip(names, functions, strict=True)}
    codes: dict[str, str] = {}
    for name, code in (*requirements, *procedures):
        codes.setdefault(name, code)
    return codes


def _fluid(circuit: Circuit, units: Units) -> Rows:
    liquid = liquid_of(circuit)
    rows = [
        ("Fluid", circuit.fluid.get("kind") or f"not given; reckoned as {DEFAULT_LIQUID}"),
        (
            "Temperature",
            with_degree_signs(
                str(circuit.fluid.get("temperature", "not given; reckoned as 15 degC"))
            ),
        ),
        ("Density", f"{liquid.density:.4g} kg/m³"),
        ("Kinematic viscosity", f"{liquid.viscosity * 1e6:.4g} mm²/s"),
        ("Bulk modulus", units.format(liquid.bulk_modulus, "pressure")),
    ]
    if liquid.known:
        source = with_degree_signs(LIQUIDS[liquid.name].source)
    else:
        source = f"the program has no data for this fluid; those of {DEFAULT_LIQUID} are used"
    return (*rows, ("Where these come from", source))


def _faults(circuit: Circuit) -> Rows:
    """(id, name, fault) of what is drawn as failed."""
    return tuple(
        (element.id, named(element), str(element.state["fault"]).replace("_", " "))
        for element in circuit.elements()
        if element.state.get("fault", "none") != "none"
    )


def _waivers(circuit: Circuit, checked: CheckResult) -> list[WaiverRow]:
    in_force = {
        (subject, finding.rule): finding.waived["severity"]
        for finding in checked.findings
        if finding.waived is not None
        for subject in finding.subjects
    }
    rows = []
    for element in circuit.elements():
        for waiver in element.waivers:
            rule = str(waiver.get("rule") or "")
            if not is_signed(waiver):
                effect = "not in force: it lacks a reason or a name"
            elif (element.id, rule) in in_force:
                severity = in_force[element.id, rule]
                effect = f"in force: waives {'an' if severity == 'error' else 'a'} {severity}"
            else:
                effect = "there is nothing to waive"
            reason, by, date = (str(waiver.get(key) or "") for key in ("reason", "by", "date"))
            rows.append(WaiverRow(element.id, rule, reason, by, date, effect))
    return rows
