"""The parts of a report that say what holds: requirements and procedures."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from analysis.barriers import why_stopped
from analysis.findings import Verdict
from analysis.report import Report, Units
from analysis.report_blocks import (
    Block,
    Heading,
    Paragraph,
    SmallList,
    Span,
    Table,
    Text,
    WayDrawing,
    bold,
    in_lines,
    set_text,
)
from analysis.report_runs import Came, RunResult
from analysis.report_settings import changes_in_words
from analysis.report_ways import WayPicture
from analysis.words import listed

_KINDS = {
    "reaches": "pressure reaches every target, and the other sides can return",
    "reaches_only": "pressure reaches every target and no other actuator",
    "reaches_none": "pressure reaches none of the targets",
    "independent": "the two sides share nothing but what they may",
    "survives": "the procedure survives each single failure",
}
_ROLES = {"supply": "Way", "return": "Return", "other": "Other side", "stray": "Stray way"}
_LOOKS = {
    "supply": "black line with arrowheads: the way of the pressure",
    "return": "hollow line: the way back to a reservoir",
    "other": "hollow line: a way of the other side to each target",
    "stray": "black and white barred line, ending at a cross: the way that must not be",
}
_MARKS = {
    "stop": "framed: what stops it",
    "stop return": "framed: what stops the return",
    "shared": "framed: what both sides share",
    "may share": "framed: what both sides share and may",
    "fatal": "framed: what may not fail",
}
_REACHED = {
    "stop": "black line: where the pressure gets to",
    "stop return": "black line: where fluid gets to that would have to return",
}
_TARGETS = {
    "stop": "named without a frame: what it does not reach",
    "stop return": "named without a frame: from where nothing can return",
}
_REASONS = 3
"""So many parts that stop the fluid are named in the sentence of a verdict."""


# -- requirements ------------------------------------------------------------------------


def requirement_blocks(report: Report) -> Iterator[Block]:
    """A table of all, then each with its levers, its ways and their drawing."""
    verdicts = report.checked.requirements
    if not verdicts:
        yield Paragraph(
            set_text(
                "The circuit has no requirements: nothing has been shown about what must reach "
                "what."
            )
        )
        yield from _matrix(report)
        return
    raws = report.circuit.requirements
    rows = tuple(
        (
            set_text(f"R{number}"),
            set_text(verdict.name),
            set_text(_kind(raw)),
            set_text(_outcome(verdict)),
        )
        for number, (raw, verdict) in enumerate(zip(raws, verdicts, strict=True), start=1)
    )
    yield Table(("No.", "Requirement", "It holds if", "Verdict"), (6, 46, 34, 14), rows)
    yield from _matrix(report)
    for index, (raw, verdict) in enumerate(zip(raws, verdicts, strict=True)):
        yield Heading(f"R{index + 1} {verdict.name}", level=3)
        yield from _requirement(report, index, raw, verdict)


def _kind(raw: Mapping[str, Any]) -> str:
    kind = str(raw.get("kind") or "")
    return _KINDS.get(kind, kind.replace("_", " "))


def _outcome(verdict: Verdict) -> Span:
    if not verdict.judged:
        return bold("not judged")
    return Span("holds") if verdict.holds else bold("FAILS")


def _requirement(
    report: Report, index: int, raw: Mapping[str, Any], verdict: Verdict
) -> Iterator[Block]:
    picture = report.pictures[index]
    yield Paragraph(
        set_text(bold(_outcome(verdict).text.capitalize() if verdict.holds else _shout(verdict)))
        + set_text(f". {verdict.message}"),
        keep=picture is not None,
    )
    given = changes_in_words(report.circuit, raw.get("set") or {}) if _is_plain(raw) else []
    if given:
        yield Paragraph(set_text(f"Set as: {'; '.join(given)}."))
    if picture is None:
        if verdict.witness:
            yield Paragraph(set_text(f"Witness: {_along(verdict.witness)}"))
        return
    yield WayDrawing(index, _caption(picture))
    texts = tuple(_way_texts(picture) if picture.ways else _stop_texts(picture))
    if texts:
        yield SmallList(texts, f"R{picture.requirement}, what is drawn, in words, continued:")


def _is_plain(raw: Mapping[str, Any]) -> bool:
    """Whether its `set` has the form that it must have."""
    changes = raw.get("set") or {}
    return isinstance(changes, Mapping) and all(isinstance(v, Mapping) for v in changes.values())


def _shout(verdict: Verdict) -> str:
    return "FAILS" if verdict.judged else "Not judged"


def _caption(picture: WayPicture) -> Text:
    looks = [_LOOKS[role] for role in dict.fromkeys(way.role for way in picture.ways)]
    if picture.reached:
        looks.append(_REACHED[picture.mark])
    if picture.mark and picture.marked:
        looks.append(_MARKS[picture.mark])
    if picture.targets:
        looks.append(_TARGETS[picture.mark])
    if picture.ways:
        looks.append("numbers: the order along the ways")
    words = "; ".join((*looks, "grey: all else"))
    return set_text(f"R{picture.requirement}. {words[0].upper()}{words[1:]}.")


def _way_texts(picture: WayPicture) -> Iterator[Text]:
    counts: dict[str, int] = {}
    for way in picture.ways:
        counts[way.role] = counts.get(way.role, 0) + 1
        parts = [
            f"{identifier} ({picture.numbers[identifier]})"
            if identifier in picture.numbers
            else identifier
            for identifier in way.elements
        ]
        yield set_text(bold(f"{_ROLES[way.role]} {counts[way.role]}: "), _along(parts))


def _stop_texts(picture: WayPicture) -> Iterator[Text]:
    """What stops the fluid, in full, and where it gets to."""
    circuit = picture.circuit
    if picture.mark in ("stop", "stop return") and len(picture.marked) > _REASONS:
        reasons = "; ".join(why_stopped(circuit, element) for element in picture.marked)
        yield set_text(bold("Stopped: "), f"{reasons}.")
    order = [element.id for element in circuit.elements() if element.id in picture.reached]
    if order:
        yield set_text(bold("Gets to: "), f"{', '.join(order)}.")


def _along(parts: list[str] | tuple[str, ...]) -> str:
    """A way in words, which a line's end breaks only after its dashes."""
    return " ".join(
        f"{part.replace(' ', _TIED)}{_TIED}-" if number < len(parts) else part.replace(" ", _TIED)
        for number, part in enumerate(parts, start=1)
    )


_TIED = "\u00a0"
_DASH = "–"


def _matrix(report: Report) -> Iterator[Block]:
    """Which source reaches which actuator, and with which levers."""
    matrix = report.matrix
    if not matrix.cells:
        return
    yield Heading("What reaches what", level=3)
    yield Paragraph(
        set_text(
            "Each source alone, its levers free: the settings in which its pressure gets to a port "
            "of an actuator. Pressure that is let into a return line counts too where that line "
            "leads to a port: this is about ways, not about how much pressure is left there."
            + (f" No source ever reaches {listed(matrix.never)}." if matrix.never else "")
        )
    )
    ports: dict[tuple[str, Text, str], list[str]] = {}
    for (source, port), cell in matrix.cells.items():
        parts = [_part(report, part) for part in cell.parts[:_PARTS]]
        if len(cell.parts) > _PARTS:
            parts.append(set_text("and more"))
        key = (source, in_lines(parts), f"{cell.count} of {matrix.total}")
        ports.setdefault(key, []).append(port)
    rows = tuple(
        (set_text(source), set_text(", ".join(reached)), parts, set_text(count))
        for (source, parts, count), reached in ports.items()
    )
    yield Table(("Source", "Ports", "With", "Settings"), (9, 27, 50, 14), rows)


_PARTS = 4


def _part(report: Report, part: Mapping[str, tuple[str, ...]]) -> Text:
    words = []
    for lever, positions in part.items():
        labels = report.circuit.components[lever].labels
        words.append(f"{lever} at {listed((labels.get(p, p) for p in positions), 'or')}")
    return set_text(", ".join(words) or "any setting")


# -- procedures --------------------------------------------------------------------------


def procedure_blocks(report: Report, units: Units) -> Iterator[Block]:
    """Each procedure, what is done in it and what came of it."""
    if not report.runs:
        yield Paragraph(set_text("The circuit has no procedures."))
        return
    for run in report.runs:
        yield Heading(f"P{run.number} {run.name}", level=3)
        yield Paragraph(
            set_text(bold("Holds.") if run.holds else bold("FAILS."), _why(run)),
            keep=bool(run.start or run.steps or run.expectations),
        )
        done = [set_text(f"Start: {'; '.join(run.start)}.")] if run.start else []
        worked = len(run.steps) - run.left
        for n, step in enumerate(run.steps, start=1):
            never = bold(" It never came to that.") if n > worked else ""
            done.append(set_text(f"Step {n}, {step}.", never))
        if done:
            yield Paragraph(in_lines(done), small=True)
        rows = tuple(
            (
                set_text(text),
                set_text("holds") if held else set_text(bold("FAILS")),
                set_text(_when(held, time, came, units)),
            )
            for (text, held, time), came in zip(run.expectations, run.came, strict=True)
        )
        if rows:
            yield Table(("Expected", "Outcome", "When, or what came"), (56, 12, 32), rows)


def _why(run: RunResult) -> str:
    if run.message:
        return f" {run.message[0].upper()}{run.message[1:].rstrip('.')}."
    return "" if run.expectations else " Nothing is expected of it."


def _when(held: bool, time: float | None, came: Came | None, units: Units) -> str:
    words = [] if time is None else [f"{'met' if held else 'broken'} at {time:.3g} s"]
    if came is not None:
        words.append(f"{came.words} {_value(came, units)}")
    return ", ".join(words) or _DASH


def _value(came: Came, units: Units) -> str:
    if isinstance(came.value, bool):
        return "yes" if came.value else "no"
    if isinstance(came.value, float):
        return units.format(came.value, came.dimension)
    return str(came.value)
