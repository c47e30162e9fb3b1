"""Waiving a rule on a part or line and withdrawing it again, as undoable commands."""

from __future__ import annotations

from collections.abc import Iterable

from analysis.circuit import Circuit
from analysis.findings import Finding
from analysis.waivers import with_waiver, without_waiver
from editor.undo_commands import Edit, SetFields


def rule_words(rule: str) -> str:
    """A rule's name as it is read: `No filter`."""
    return rule.replace("_", " ").capitalize()


def subjects_to_waive_on(circuit: Circuit, finding: Finding) -> list[str]:
    """The parts and lines that can bear a waiver of the finding; none if it is of the whole."""
    if finding.waived is not None:
        return []
    return [subject for subject in finding.subjects if subject in circuit]


def waive_command(
    circuit: Circuit, subject: str, rule: str, reason: str, by: str, date: str = ""
) -> Edit:
    """The command that waives a rule on a part or line.

    Raises
    ------
    EditError
        If there is no such rule or part, or reason or name are missing.
    """
    waivers = with_waiver(circuit.element(subject).waivers, rule, reason, by, date)
    text = f"Waive {rule_words(rule).lower()} on {subject}"
    return SetFields(circuit, text, [(subject, "waivers", waivers)])


def withdraw_command(circuit: Circuit, subjects: Iterable[str], rule: str) -> Edit | None:
    """The command that takes the waivers of a rule off these parts; None if there is none."""
    changes = []
    for subject in subjects:
        if subject not in circuit:
            continue
        waivers = circuit.element(subject).waivers
        kept = without_waiver(waivers, rule)
        if len(kept) != len(waivers):
            changes.append((subject, "waivers", kept))
    if not changes:
        return None
    where = ", ".join(change[0] for change in changes)
    text = f"Withdraw waiver of {rule_words(rule).lower()} on {where}"
    return SetFields(circuit, text, changes)
