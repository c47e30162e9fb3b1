"""The report as blocks, from its title to its method: what stands where, and in which words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from analysis.report import Report, Units
from analysis.report_blocks import (
    Block,
    Bullets,
    Heading,
    Paragraph,
    SheetDrawing,
    Span,
    Table,
    Text,
    bold,
    italic,
    set_text,
)
from analysis.report_failures import failure_blocks
from analysis.report_front import front_blocks
from analysis.report_questions import unstated
from analysis.report_readings import reading_blocks
from analysis.report_verdicts import procedure_blocks, requirement_blocks
from analysis.words import listed, named


def report_blocks(report: Report, units: Units) -> list[Block]:
    """The whole report in order, sections numbered."""
    sections: tuple[tuple[str, Iterable[Block]], ...] = (
        ("Drawing", [SheetDrawing()]),
        ("Requirements", requirement_blocks(report)),
        ("Procedures", procedure_blocks(report, units)),
        ("Findings and waivers", _findings(report)),
        ("Open questions", _questions(report)),
        ("Single failures", failure_blocks(report)),
        ("Parts", _parts(report)),
        ("Fluid", _fluid(report)),
        ("Readings", reading_blocks(report, units)),
        ("Method and limits", _method()),
    )
    blocks = list(front_blocks(report))
    for number, (title, content) in enumerate(sections, start=2):
        blocks.append(Heading(f"{number} {title}", anchor=f"section-{number}"))
        blocks += content
    return blocks


def _findings(report: Report) -> Iterator[Block]:
    if report.findings:
        rows = [
            (
                bold("ERROR") if finding.severity == "error" else finding.severity,
                ", ".join(finding.subjects) or "–",
                set_text(finding.message, " ", italic(f"({finding.rule.replace('_', ' ')})")),
                finding.mend,
            )
            for finding in report.findings
        ]
        yield Table(("Severity", "On", "Finding", "Mend"), (10, 17, 41, 32), _rows(rows))
    else:
        yield Paragraph(set_text("None that is not waived."))
    yield Heading("Waivers", level=3)
    if not report.waivers:
        yield Paragraph(set_text("None."))
        return
    waivers = [
        (w.subject, w.rule.replace("_", " "), w.reason, w.by, w.date or "–", w.effect)
        for w in report.waivers
    ]
    headings = ("On", "Rule", "Reason", "Waived by", "Date", "Effect")
    yield Table(headings, (8, 19, 32, 15, 11, 15), _rows(waivers))
    if report.waived:
        yield Paragraph(set_text("What is waived by these:"))
        yield Table(
            ("Severity", "On", "Finding, with its waiver"),
            (10, 17, 73),
            _rows(
                (
                    bold("waived ERROR") if f.kind == "waived error" else f.kind,
                    ", ".join(f.subjects),
                    f.message,
                )
                for f in report.waived
            ),
        )


def _questions(report: Report) -> Iterator[Block]:
    if report.questions:
        yield Paragraph(
            set_text(
                "What is inferred, assumed, unknown or known only as a range, and what hangs on "
                "it: the requirements that rest on it, being on their ways, or stopping the "
                "pressure, or where the pressure gets to if nothing else may be reached or "
                "shared; the procedures that name it or in which fluid passes it; "
                f"{_costs(report)}. Ways do not hang on numbers. A range counts with its "
                "middle in all figures here, an unknown with the default of its kind."
            )
        )
        # a dash says that nothing is lost: there is none where nothing was tried
        tried = report.failures is not None
        headings = ("On", "Name", "What is open", "Requirements", "Procedures")
        rows = [
            (
                q.subject,
                named(report.circuit.element(q.subject)),
                q.what,
                ", ".join(q.requirements) or "–",
                ", ".join(q.procedures) or "–",
                *((", ".join(q.failures) or "–",) if tried else ()),
            )
            for q in report.questions
        ]
        if tried:
            yield Table((*headings, "Its failure\ncosts"), (7, 20, 26, 17, 14, 16), _rows(rows))
        else:
            yield Table(headings, (7, 24, 33, 20, 16), _rows(rows))
        yield Paragraph(set_text(_hanging(report)))
    else:
        yield Paragraph(
            set_text("Nothing is marked as inferred, assumed or unknown, and nothing is a range.")
        )
    without = unstated(report.circuit)
    if without:
        yield Paragraph(
            set_text(
                bold("Nobody has stated"),
                f" how well these are known, and they are taken as drawn: {without}.",
            )
        )


def _costs(report: Report) -> str:
    """What is known of the functions that the failure of an open element costs."""
    if report.failures is None:
        return "what its own failure costs was not worked out"
    if report.runs and not report.failures_of_procedures:
        return "the requirements that its own failure costs (of procedures that was not tried)"
    return "the functions that its own failure costs"


def _hanging(report: Report) -> str:
    """Which verdicts hang on something open, and which on nothing."""
    # a verdict that only says that it cannot be shown rests on nothing
    codes = [f"R{n}" for n, _ in enumerate(report.checked.requirements, 1) if report.is_shown(n)]
    codes += [f"P{run.number}" for run in report.runs]
    hang = {code for question in report.questions for code in question.hanging}
    resting = listed(code for code in codes if code in hang)
    free = listed(code for code in codes if code not in hang)
    said = f"Verdicts that hang on something open: {resting or 'none'}."
    return said + (f" On nothing that is marked open: {free}." if free else "")


def _parts(report: Report) -> Iterator[Block]:
    if not report.parts:
        yield Paragraph(set_text("None."))
        return
    rows = []
    for row in report.parts:
        identifier, kind, _, settings, evidence, source = row.cells()
        known = set_text(evidence or "not stated", f": {source}" if source else "")
        name = named(report.circuit.element(identifier))
        part = set_text(kind if name == "–" else f"{name} ", italic(f"({kind.lower()})"))
        part = part[:1] if name == "–" else part
        rows.append((identifier, part, settings or "–", known))
    yield Table(("Id", "Part", "Settings as written", "Evidence"), (8, 27, 42, 23), _rows(rows))


def _fluid(report: Report) -> Iterator[Block]:
    yield Table(("Property", "Value"), (27, 73), _rows(report.fluid))


def _method() -> Iterator[Block]:
    points = [
        "Readings are one instant in steady state: the laws of the components and lines are solved "
        "together until pressures and flows agree. Positions, levels and charges are as given.",
        "Valves and restrictors follow the square-root law of turbulent flow. Lines have friction "
        "after their length and bore, laminar up to Reynolds 2000 and turbulent from 4000, without "
        "minor losses; lines without a size have none. Pump leakage is in proportion to pressure.",
        "Ways are searched exactly through the drawn connections with the levers set as each "
        "requirement says. A way shows that fluid can get there, not that pressure and flow "
        "suffice.",
        "Procedures are worked out over time: the same laws with the compressibility of the fluid, "
        "the travel of the actuators, gas and levels, in steps with a bound on their error. Moving "
        "masses are not counted: members follow the pressures without inertia.",
        "No pressure is guessed: what nothing pins down is said to be undetermined. Settings that "
        "are not written take the defaults of their kind. Settings that are a range or unknown are "
        "listed under open questions.",
        "Temperature is uniform and does not change. Air in the fluid, water hammer, wear, dirt "
        "and structure are not looked at.",
        "A failure is looked at alone, never together with a second one. By how much one makes a "
        "function slower or weaker is approximate, for it is told from runs in longer steps: "
        "travel, pressures and forces are right to about 2 %, how long a pressure or force takes "
        "to rise to about a fifth. Actuators that share a flow may arrive in another order, "
        "further off.",
    ]
    yield Bullets(tuple(set_text(point) for point in points))


def _rows(rows: Iterable[Iterable[str | Span | Text]]) -> tuple[tuple[Text, ...], ...]:
    return tuple(tuple(set_text(cell) for cell in row) for row in rows)
