"""What the pane Findings lists: findings and verdicts, the grave ones first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from analysis.checks import CheckResult
from analysis.findings import Finding, Verdict
from analysis.waivers import waiver_words
from editor.panes.waiving import rule_words

_ORDER = ("fails", "error", "warning", "open", "note", "waived", "holds")

WHAT_IS_CHECKED = (
    "What is checked, at every change: ports without a line; actuators that no source reaches "
    "or that have no way back to a reservoir; pumps that feed nothing or are starved; pressures "
    "that nothing limits or pins down; shut-in fluid without relief; values known only as a "
    "range or not at all; the design rules (relief for every pump, suction, locks, labels, "
    "identification and others); and the requirements written in the circuit."
)

MARK_WORDS = {
    "fails": "Requirement fails",
    "error": "Error",
    "warning": "Warning",
    "open": "Requirement not judged here",
    "note": "Note",
    "waived": "Waived",
    "holds": "Requirement holds",
}


@dataclass(frozen=True)
class Entry:
    """One row: its mark, the heading, what is wrong, the mend, and the ids to show.

    `finding` is what a waiver would be about; a requirement's verdict has none.
    """

    mark: str
    heading: str
    message: str
    mend: str
    subjects: tuple[str, ...]
    finding: Finding | None = None

    def is_as(self, other: Entry) -> bool:
        """Whether it is about the same, though it may be waived meanwhile."""
        if self.finding is None or other.finding is None:
            return self == other
        mine, its = self.finding, other.finding
        same_place = (mine.rule, mine.subjects) == (its.rule, its.subjects)
        return same_place and self.message == other.message


def entries(result: CheckResult) -> list[Entry]:
    """All rows, the grave ones first, otherwise in the order of the check."""
    found = [_finding_entry(f) for f in result.findings]
    found += [_verdict_entry(v) for v in result.requirements]
    return sorted(found, key=_gravity)


def _gravity(entry: Entry) -> tuple[int, int]:
    """By the mark; what is waived, by what it would be otherwise."""
    waived = entry.finding.waived if entry.finding is not None else None
    return _ORDER.index(entry.mark), _ORDER.index(waived["severity"]) if waived else 0


def _finding_entry(finding: Finding) -> Entry:
    # the message names the parts, so the heading says which rule it is
    heading = rule_words(finding.rule)
    if finding.waived is None:
        return Entry(
            finding.severity, heading, finding.message, finding.mend, finding.subjects, finding
        )
    by, reason = finding.waived.get("by", ""), finding.waived.get("reason", "")
    message = finding.message.removesuffix(waiver_words(by, reason)).rstrip()
    signed = ", ".join(part for part in (by, finding.waived.get("date", "")) if part)
    mend = f"Waived by {signed}: {reason}"
    return Entry("waived", f"{heading} ({finding.kind})", message, mend, finding.subjects, finding)


def _verdict_entry(verdict: Verdict) -> Entry:
    mark = verdict_mark(verdict)
    subjects = tuple(dict.fromkeys(verdict.witness))
    return Entry(mark, verdict.name, verdict.message, "", subjects)


def verdict_mark(verdict: Verdict) -> str:
    """`holds`, `fails`, or `open` where it takes runs over time that the live check leaves out."""
    if not verdict.judged:
        return "open"
    return "holds" if verdict.holds else "fails"


def _counted(severities: Iterable[str]) -> list[str]:
    """`1 error`, `3 warnings`: those there are."""
    counts = Counter(severities)
    return [
        f"{counts[severity]} {severity}{'' if counts[severity] == 1 else 's'}"
        for severity in ("error", "warning", "note")
        if counts[severity]
    ]


def summary(result: CheckResult) -> str:
    """`1 error, 3 warnings, 2 notes, waived: 1 error · 5 of 6 requirements hold`."""
    parts = _counted(f.severity for f in result.findings if f.waived is None)
    waived = _counted(f.waived["severity"] for f in result.findings if f.waived is not None)
    if waived:
        parts.append(f"waived: {' and '.join(waived)}")
    text = ", ".join(parts) or "No findings"
    total = len(result.requirements)
    if total:
        holding = sum(verdict.holds for verdict in result.requirements)
        noun = "requirement" if total == 1 else "requirements"
        verb = "holds" if holding == 1 else "hold"
        text += f" · {holding} of {total} {noun} {verb}"
        unjudged = sum(not verdict.judged for verdict in result.requirements)
        text += f", {unjudged} open" if unjudged else ""
    return text
