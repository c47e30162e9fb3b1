"""The report: everything that is known of a circuit, gathered for another person to check."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Protocol

from analysis.assemble import liquid_of
from analysis.checks import CheckResult, check
from analysis.circuit import Circuit, Component, Line
from analysis.failures import FailureTable
from analysis.findings import Finding, Verdict
from analysis.liquids import DEFAULT_LIQUID, LIQUIDS
from analysis.parts_list import PartRow, parts_list, written
from analysis.readings import Readings, readings
from analysis.rules import is_signed
from analysis.words import listed

Rows = tuple[tuple[str, ...], ...]

UNSURE = ("inferred", "assumed", "unknown")
"""The states of evidence that leave a question open."""


class Units(Protocol):
    """In which unit a quantity is shown."""

    def format(self, value: float, dimension: str) -> str:
        """Number and unit of an SI value."""

    def number(self, value: float, dimension: str) -> str:
        """The number alone, for a column that names the unit."""

    def symbol(self, dimension: str) -> str:
        """The unit as it is printed."""


@dataclass(frozen=True)
class OpenQuestion:
    """What is not known for sure of one element, and the requirements whose way it lies on."""

    subject: str
    name: str
    what: str
    requirements: tuple[str, ...]


@dataclass(frozen=True)
class WaiverRow:
    """A waiver as it is written on an element, and what it does: a sentence."""

    subject: str
    rule: str
    reason: str
    by: str
    effect: str


@dataclass(frozen=True)
class Report:
    """What a report says.

    `file_checksum` is the SHA-256 of the file that was read, `failures` is None where they
    were not worked out. Pairs in `fluid` are title and text.
    """

    circuit: Circuit
    file_name: str
    file_checksum: str
    version: str
    parts: tuple[PartRow, ...]
    fluid: Rows
    readings: Readings
    checked: CheckResult
    waivers: tuple[WaiverRow, ...]
    questions: tuple[OpenQuestion, ...]
    faults: Rows
    failures: FailureTable | None

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

    Raises
    ------
    QuantityError
        If the liquid's temperature is outside -60 to 150 degC.
    """
    instant = readings(circuit)
    checked = check(circuit, instant=instant)
    return Report(
        circuit,
        file_name,
        file_checksum,
        version,
        parts_list(circuit),
        _fluid(circuit, units),
        instant,
        checked,
        tuple(_waivers(circuit, checked)),
        tuple(_questions(circuit, checked.requirements)),
        _faults(circuit),
        failures,
    )


def _fluid(circuit: Circuit, units: Units) -> Rows:
    liquid = liquid_of(circuit)
    rows = [
        ("Fluid", circuit.fluid.get("kind") or f"not given; reckoned as {DEFAULT_LIQUID}"),
        ("Temperature", str(circuit.fluid.get("temperature", "not given; reckoned as 15 degC"))),
        ("Density", f"{liquid.density:.4g} kg/m³"),
        ("Kinematic viscosity", f"{liquid.viscosity * 1e6:.4g} mm²/s"),
        ("Bulk modulus", units.format(liquid.bulk_modulus, "pressure")),
    ]
    if liquid.known:
        source = LIQUIDS[liquid.name].source
    else:
        source = f"the program has no data for this fluid; those of {DEFAULT_LIQUID} are used"
    return (*rows, ("Where these come from", source))


def _faults(circuit: Circuit) -> Rows:
    """(id, name, fault) of what is drawn as failed."""
    return tuple(
        (element.id, element.name, str(element.state["fault"]).replace("_", " "))
        for element in circuit.elements()
        if element.state.get("fault", "none") != "none"
    )


def _waivers(circuit: Circuit, checked: CheckResult) -> list[WaiverRow]:
    in_force = {(s, f.rule) for f in checked.findings if f.waived is not None for s in f.subjects}
    rows = []
    for element in circuit.elements():
        for waiver in element.waivers:
            rule = str(waiver.get("rule") or "")
            if not is_signed(waiver):
                effect = "not in force: it lacks a reason or a name"
            elif (element.id, rule) in in_force:
                effect = "in force"
            else:
                effect = "there is nothing to waive"
            reason, by = str(waiver.get("reason") or ""), str(waiver.get("by") or "")
            rows.append(WaiverRow(element.id, rule, reason, by, effect))
    return rows


def _questions(circuit: Circuit, verdicts: tuple[Verdict, ...]) -> list[OpenQuestion]:
    passed: dict[str, list[str]] = {}
    for number, verdict in enumerate(verdicts, start=1):
        for identifier in {*verdict.witness, *(i for way in verdict.ways for i in way)}:
            passed.setdefault(identifier, []).append(f"R{number}")
    questions = []
    for element in circuit.elements():
        doubts = [*_evidence(element), *_settings(element)]
        if doubts:
            hanging = tuple(passed.get(element.id, ()))
            questions.append(OpenQuestion(element.id, element.name, "; ".join(doubts), hanging))
    return questions


def _evidence(element: Component | Line) -> list[str]:
    status = element.evidence.get("status", "")
    if status not in UNSURE:
        return []
    source = element.evidence.get("source", "")
    return [f"{status} ({source})" if source else status]


def _settings(element: Component | Line) -> list[str]:
    """What is written as unknown or as a range."""
    values: Mapping[str, Any] = element.settings
    doubtful = {n: raw for n, raw in values.items() if raw is None or isinstance(raw, dict)}
    return [
        f"{element.setting_of(name).title.lower()} {written(raw, element.setting_of(name))}"
        for name, raw in doubtful.items()
    ]


def unstated(circuit: Circuit) -> str:
    """The components of which nobody has said how well they are known, in words."""
    without = [
        element.id
        for element in circuit.components.values()
        if element.kind != "junction" and not element.evidence.get("status")
    ]
    return listed(without)
