"""The rows of the pane Failures, from the circuit and from the table, if there is one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from analysis.circuit import Circuit
from analysis.failure_modes import Failure, find_failures
from editor.single_failures.words import mode_words

if TYPE_CHECKING:
    from analysis.failures import FailureTable

HEADINGS = ("Part", "Name", "Failure", "Single point", "Functions lost", "Functions degraded")
CSV_HEADINGS = ("part", "name", "failure", "single_point", "lost", "degraded", "reasons")
HEADING_TIPS = {
    3: "A part is a single point if at least one of its failures costs a function: by the "
    "failure of the row (◆), or by another of its failures (◇)",
    5: "About how much later an expectation is met, or weaker a pressure or force is: told from "
    "runs in longer steps, with no more digits than are known",
}
SINGLE_POINT = "◆ single point"
BY_ANOTHER = "◇ by another failure"


@dataclass(frozen=True)
class FailureRow:
    """One failure mode; `reasons` by function. `known`: it was judged.

    `single_point` tells of its part, whether by this failure or by another one.
    """

    failure: Failure
    name: str
    lost: tuple[str, ...] = ()
    degraded: tuple[str, ...] = ()
    reasons: Mapping[str, str] = field(default_factory=dict)
    single_point: bool = False
    known: bool = False

    @property
    def costs(self) -> bool:
        """Whether a function is lost or degraded."""
        return bool(self.lost or self.degraded)

    def cells(self) -> tuple[str, ...]:
        """The texts, in the order of `HEADINGS`."""
        if not self.known:
            lost = degraded = "not worked out"
        else:
            lost = "; ".join(self.lost) or "—"
            degraded = "; ".join(self.slowed(name) for name in self.degraded) or "—"
        point = ""
        if self.single_point:
            point = SINGLE_POINT if self.lost else BY_ANOTHER
        mode = mode_words(self.failure.mode)
        return self.failure.subject, self.name, mode, point, lost, degraded

    def point_words(self) -> str:
        """Whether its part is a single point, and if by this failure; empty if it is none."""
        if not self.single_point:
            return ""
        how = "by this failure" if self.lost else "by another of its failures, not by this one"
        return f"{self.failure.subject} is a single point of failure {how}."

    def slowed(self, name: str) -> str:
        """A degraded function, and by how much: `Gear down (met after about 9 s, not 4 s)`."""
        reason = self.reasons.get(name, "")
        how_much = reason.rpartition(": ")[2]
        return f"{name} ({how_much})" if how_much else name

    def csv_cells(self) -> tuple[str, ...]:
        """The texts, in the order of `CSV_HEADINGS`."""
        reasons = "; ".join(f"{name}: {reason}" for name, reason in self.reasons.items())
        return (
            self.failure.subject,
            self.name,
            self.failure.mode,
            "yes" if self.single_point else "no",
            "; ".join(self.lost),
            "; ".join(self.degraded),
            reasons,
        )


def rows_of(circuit: Circuit, table: FailureTable | None) -> list[FailureRow]:
    """All rows in the order of the file; without a table, the failures there could be."""
    if table is None:
        return [FailureRow(f, _name(circuit, f.subject)) for f in find_failures(circuit)]
    points = set(table.single_points)
    return [
        FailureRow(
            Failure(case.subject, case.mode),
            _name(circuit, case.subject),
            case.lost,
            case.degraded,
            case.reasons,
            case.subject in points,
            known=True,
        )
        for case in table.cases
    ]


def _name(circuit: Circuit, subject: str) -> str:
    if subject not in circuit:
        return "no longer in the drawing"
    element = circuit.element(subject)
    if element.name:
        return element.name
    if subject in circuit.lines:
        line = circuit.lines[subject]
        return f"{line.role} line {line.start} to {line.end}"
    return circuit.components[subject].declared.title


def summary(table: FailureTable) -> str:
    """How many failures cost how much, and which functions were not judged."""
    lost = sum(bool(case.lost) for case in table.cases)
    degraded = sum(bool(case.degraded) and not case.lost for case in table.cases)
    points = len(table.single_points)
    text = (
        f"{len(table.cases)} failures judged: {lost} cost a function, {degraded} only degrade "
        f"one. {points} single {'point' if points == 1 else 'points'} of failure."
    )
    if table.failing:
        names = ", ".join(f"“{name}”" for name in table.failing)
        text += f" Not judged, since it fails without any failure: {names}."
    return text


def details(row: FailureRow | None) -> str:
    """All that is known of a failure, for reading."""
    if row is None:
        return "Select a failure to read what it costs and why."
    if not row.known:
        return "Not worked out yet. What If shows the sheet with this failure in."
    parts = [] if row.costs else ["It costs no function."]
    for heading, names in (("Lost", row.lost), ("Degraded", row.degraded)):
        for name in names:
            reason = row.reasons.get(name, "")
            parts.append(f"{heading}: {name}" + (f"\n    {reason}" if reason else ""))
    if row.single_point:
        parts.append(row.point_words())
    return "\n".join(parts)


def judged_state(circuit: Circuit) -> tuple[Any, ...]:
    """What the table hangs on: equal for two states of a circuit that give the same table."""
    return *run_state(circuit), repr(circuit.requirements)


def run_state(circuit: Circuit) -> tuple[Any, ...]:
    """What runs over time hang on.

    Where things are drawn, their names, evidence and waivers are no part of it.
    """
    components = tuple(
        (c.id, c.kind, repr(c.settings), repr(c.state), repr(c.labels))
        for c in circuit.components.values()
    )
    lines = tuple(
        (x.id, x.start, x.end, x.role, repr(x.settings), repr(x.state))
        for x in circuit.lines.values()
    )
    return components, lines, repr(circuit.fluid), repr(circuit.procedures)
