"""What a reviewer must be able to show: requirements and their verdicts.

Each kind of requirement is one function from the circuit (with the levers as `set` puts
them) to a verdict: whether it holds, a sentence, and the way that proves or breaks it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from importlib import import_module
from typing import Any

from analysis.asked import Asked, read
from analysis.circuit import Circuit
from analysis.errors import CircuitError
from analysis.findings import Verdict
from analysis.independence import independent
from analysis.port_graph import PortGraph
from analysis.reaching import reaches, reaches_none, reaches_only
from analysis.ways import sources_of

Wanted = Asked | Verdict
"""A requirement with its names checked; its verdict if it cannot be read."""


def read_requirements(circuit: Circuit) -> list[Wanted]:
    """All requirements of the circuit, in the order of the file."""
    plain = PortGraph(circuit, sources_of(circuit))
    return [
        _read(circuit, requirement, number, plain)
        for number, requirement in enumerate(circuit.requirements, start=1)
    ]


def evaluate(
    circuit: Circuit, *, with_runs: bool = True, wanted: Sequence[Wanted] | None = None
) -> tuple[Verdict, ...]:
    """The verdicts on all requirements of the circuit, in the order of the file.

    A requirement that cannot be read (an id that does not exist, a label that no lever
    has) does not hold, and its message says why. Without `with_runs` those that take runs
    over time are not judged, and say so. `wanted` is `read_requirements(circuit)`, if it is
    known already.
    """
    known = read_requirements(circuit) if wanted is None else wanted
    return tuple(
        _judge(one)
        if with_runs or requirement.get("kind") != "survives"
        else _not_judged(requirement, number)
        for number, (requirement, one) in enumerate(
            zip(circuit.requirements, known, strict=True), start=1
        )
    )


def evaluate_one(
    circuit: Circuit,
    requirement: Mapping[str, Any],
    number: int = 1,
    plain: PortGraph | None = None,
    *,
    progress: Callable[[float], None] | None = None,
) -> Verdict:
    """The verdict on one requirement, given as it stands in the file.

    `plain` is the circuit's graph with every source, to save making it anew each time.
    `progress` is called with the share done, 0 to 1, where it takes runs over time.

    Examples
    --------
    >>> circuit = Circuit()
    >>> _ = circuit.add("pressure_source", id="0P1"), circuit.add("cylinder", id="1A1")
    >>> _ = circuit.connect("0P1.outlet", "1A1.cap")
    >>> wanted = {"kind": "reaches_none", "from": ["0P1"], "targets": ["1A1.rod"]}
    >>> evaluate_one(circuit, wanted).holds
    True
    """
    asked = _read(circuit, requirement, number, plain)
    return _judge(asked if isinstance(asked, Verdict) else replace(asked, progress=progress))


def read_requirement(
    circuit: Circuit,
    requirement: Mapping[str, Any],
    number: int = 1,
    plain: PortGraph | None = None,
) -> Asked | None:
    """A requirement with its names checked; None if it cannot be read (its verdict says why)."""
    asked = _read(circuit, requirement, number, plain)
    return None if isinstance(asked, Verdict) else asked


def _read(
    circuit: Circuit, requirement: Mapping[str, Any], number: int, plain: PortGraph | None
) -> Wanted:
    name = _name(requirement, number)
    try:
        return replace(read(circuit, requirement, name), plain=plain)
    except CircuitError as error:
        return Verdict(name, False, f"It cannot be shown: {error}.")


def _judge(wanted: Wanted) -> Verdict:
    if isinstance(wanted, Verdict):
        return wanted
    try:
        return _JUDGES[wanted.kind](wanted)
    except CircuitError as error:
        return Verdict(wanted.name, False, f"It cannot be shown: {error}.")


def _name(requirement: Mapping[str, Any], number: int) -> str:
    return str(requirement.get("name") or f"Requirement {number}")


def _not_judged(requirement: Mapping[str, Any], number: int) -> Verdict:
    message = "Not judged here, since it takes runs over time: the full check judges it."
    return Verdict(_name(requirement, number), False, message, judged=False)


def _survives(asked: Asked) -> Verdict:
    """The verdict of `analysis.failures`, where procedures are run with each failure."""
    # it evaluates requirements itself, so that it can only be imported now
    failures = import_module("analysis.failures")
    judge: Callable[..., Verdict] = failures.survives
    return judge(asked.circuit, asked.written, asked.name, progress=asked.progress)


_JUDGES: dict[str, Callable[[Asked], Verdict]] = {
    "reaches": reaches,
    "reaches_only": reaches_only,
    "reaches_none": reaches_none,
    "independent": independent,
    "survives": _survives,
}
