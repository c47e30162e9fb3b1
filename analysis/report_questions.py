"""What is not known for sure of a circuit, and what hangs on it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from analysis.circuit import Circuit, Component, Line
from analysis.failures import FailureTable
from analysis.parts_list import written
from analysis.report_runs import RunResult
from analysis.report_ways import WayPicture
from analysis.words import listed

UNSURE = ("inferred", "assumed", "unknown")
"""The states of evidence that leave a question open."""


@dataclass(frozen=True)
class OpenQuestion:
    """What is not known for sure of one element, and what hangs on it.

    `requirements` are the codes of those on whose witness it lies, `procedures` of those
    in which fluid passes it or that name it, `failures` of the functions that its own
    failure costs.
    """

    subject: str
    name: str
    what: str
    requirements: tuple[str, ...]
    procedures: tuple[str, ...]
    failures: tuple[str, ...]

    @property
    def hanging(self) -> tuple[str, ...]:
        """The verdicts that would fall with it."""
        return self.requirements + self.procedures


def find_questions(
    circuit: Circuit,
    pictures: Sequence[WayPicture | None],
    runs: Iterable[RunResult],
    failures: FailureTable | None,
    codes: Mapping[str, str],
) -> list[OpenQuestion]:
    """The open questions, in the order of the file.

    Parameters
    ----------
    pictures
        What shows the verdict on each requirement.
    codes
        The code (`R1`, `P1`) of each function by its name.
    """
    seen = [_elements(picture) for picture in pictures]
    used = {f"P{result.number}": result.used for result in runs}
    costs: dict[str, list[str]] = {}
    for case in failures.cases if failures else ():
        costs.setdefault(case.subject, []).extend(codes[name] for name in case.lost)
    questions = []
    for element in circuit.elements():
        doubts = [*_evidence(element), *_settings(element)]
        if doubts:
            lost = set(costs.get(element.id, ()))
            questions.append(
                OpenQuestion(
                    element.id,
                    element.name,
                    "; ".join(doubts),
                    tuple(f"R{n}" for n, ids in enumerate(seen, start=1) if element.id in ids),
                    tuple(code for code, ids in used.items() if element.id in ids),
                    tuple(dict.fromkeys(code for code in codes.values() if code in lost)),
                )
            )
    return questions


def _elements(picture: WayPicture | None) -> set[str]:
    if picture is None:
        return set()
    return {*picture.marked, *(e for way in picture.ways for e in way.elements)}


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
