"""What is not known for sure of a circuit, and what hangs on it.

A requirement on ways hangs on whether parts are there and how they are joined, not on how
large a number is: a setting that is a range leaves it as it is. A procedure hangs on both.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from analysis.circuit import Circuit, Component, Line
from analysis.failures import FailureTable
from analysis.findings import Verdict
from analysis.parts_list import written
from analysis.report_runs import RunResult
from analysis.report_ways import WayPicture
from analysis.words import listed
from symbols.kind import WORDS

UNSURE = ("inferred", "assumed", "unknown")
"""The states of evidence that leave a question open."""


@dataclass(frozen=True)
class OpenQuestion:
    """What is not known for sure of one element, and what hangs on it.

    `requirements` are the codes of those that rest on it, `procedures` of those in which
    fluid passes it or that name it, `failures` of the functions that its own failure costs.
    """

    subject: str
    name: str
    what: str
    requirements: tuple[str, ...]
    procedures: tuple[str, ...]
    failures: tuple[str, ...]

    @property
    def hanging(self) -> tuple[str, ...]:
        """The verdicts that could fall with it: a function that its failure costs needs it."""
        return tuple(dict.fromkeys(self.requirements + self.procedures + self.failures))


def find_questions(
    circuit: Circuit,
    verdicts: Sequence[Verdict],
    pictures: Sequence[WayPicture | None],
    runs: Iterable[RunResult],
    failures: FailureTable | None,
    codes: Mapping[str, str],
) -> list[OpenQuestion]:
    """The open questions, in the order of the file.

    Parameters
    ----------
    verdicts, pictures
        On each requirement, and what shows it.
    codes
        The code (`R1`, `P1`) of each function by its name.
    """
    results = list(runs)
    used = {f"P{result.number}": result.used for result in results}
    rested = _rested_on(circuit, verdicts, pictures, results)
    costs: dict[str, list[str]] = {}
    for case in failures.cases if failures else ():
        costs.setdefault(case.subject, []).extend(codes[name] for name in case.lost)
    questions = []
    for element in circuit.elements():
        doubts = [*_evidence(element), *_settings(element)]
        if doubts:
            lost = set(costs.get(element.id, ()))
            place = _is_place_open(element)
            questions.append(
                OpenQuestion(
                    element.id,
                    element.name,
                    "; ".join(doubts),
                    tuple(
                        f"R{n}"
                        for n, (ids, of_runs) in enumerate(rested, start=1)
                        if element.id in ids and (place or of_runs)
                    ),
                    tuple(code for code, ids in used.items() if element.id in ids),
                    tuple(dict.fromkeys(code for code in codes.values() if code in lost)),
                )
            )
    return questions


def is_shown(verdict: Verdict, picture: WayPicture | None) -> bool:
    """Whether something shows the verdict: nothing does where it is not, or cannot be, judged."""
    return picture is not None or (verdict.judged and verdict.holds)


def _rested_on(
    circuit: Circuit,
    verdicts: Sequence[Verdict],
    pictures: Sequence[WayPicture | None],
    results: Sequence[RunResult],
) -> list[tuple[frozenset[str], bool]]:
    """Of each requirement the elements that it rests on, and whether it was judged by runs."""
    used = {result.name: result.used for result in results}
    found = []
    for raw, verdict, picture in zip(circuit.requirements, verdicts, pictures, strict=True):
        rests_on = picture.rests_on if picture is not None else frozenset()
        survives = raw.get("kind") == "survives"
        if survives and is_shown(verdict, picture):
            rests_on |= used.get(str(raw.get("procedure")), frozenset())
        found.append((rests_on, survives))
    return found


def _is_place_open(element: Component | Line) -> bool:
    """Whether it is open if the element is there, or what it joins; not only a number."""
    return bool(_evidence(element)) or any(
        raw is None and element.setting_of(name).dimension in WORDS
        for name, raw in element.settings.items()
    )


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
    """The components and lines of which nobody has said how well they are known, in words."""
    without = [
        element.id
        for element in circuit.elements()
        if not _is_joint(element) and not element.evidence.get("status")
    ]
    return listed(in_ranges(without))


def _is_joint(element: Component | Line) -> bool:
    return isinstance(element, Component) and element.kind == "junction"


def in_ranges(identifiers: Sequence[str]) -> list[str]:
    """Ids with those that count on drawn together: `L1 to L7, L9`.

    >>> in_ranges(["0V1", "L1", "L2", "L3", "L5", "L6"])
    ['0V1', 'L1 to L3', 'L5', 'L6']
    """
    runs: list[list[str]] = []
    for identifier in identifiers:
        if runs and _counts_on(runs[-1][-1], identifier):
            runs[-1].append(identifier)
        else:
            runs.append([identifier])
    found: list[str] = []
    for run in runs:
        found += [f"{run[0]} to {run[-1]}"] if len(run) > 2 else run
    return found


def _counts_on(one: str, other: str) -> bool:
    """Whether an id is the next after another: `L3` after `L2`."""
    before, after = (_NUMBERED.fullmatch(text) for text in (one, other))
    return (
        before is not None
        and after is not None
        and before[1] == after[1]
        and int(after[2]) == int(before[2]) + 1
    )


_NUMBERED = re.compile(r"(.*?)([0-9]{1,9})")
