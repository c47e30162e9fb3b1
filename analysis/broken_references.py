"""Requirements, procedures and roller valves that name parts which are not there.

A part that is deleted from the drawing takes its lines along, but not the requirements
and procedures that speak of it: they are the reviewer's. They are kept, and found here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from analysis.circuit import Circuit
from analysis.findings import Finding
from analysis.words import described


def find_broken_references(circuit: Circuit) -> list[Finding]:
    """One error-level finding for each requirement, procedure and roller valve that names a
    missing part."""
    found = list(_untripped(circuit))
    for word, records in (
        ("requirement", circuit.requirements),
        ("procedure", circuit.procedures),
    ):
        for record in records:
            missing = missing_in(circuit, record)
            if missing:
                names = ", ".join(missing)
                found.append(
                    Finding(
                        "broken_reference",
                        "error",
                        (),
                        f"The {word} '{record.get('name', '')}' names {names}, which is not there.",
                        f"Draw {names} again under that id, or change the {word}.",
                    )
                )
    return found


def _untripped(circuit: Circuit) -> Iterator[Finding]:
    """Roller valves whose cylinder is not there, or cannot trip anything."""
    for valve in circuit.components.values():
        cylinder = str(valve.settings.get("tripped_by") or "")
        if valve.settings.get("operator") != "roller" or not cylinder:
            continue
        part = circuit.components.get(cylinder)
        if part is not None and "extension" in part.declared.states:
            continue
        why = "which has no extension" if part is not None else "which is not there"
        yield Finding(
            "broken_reference",
            "error",
            (valve.id,),
            f"{described(valve)} is tripped by {cylinder}, {why}: it stays where it is drawn.",
            "Name the cylinder that trips it.",
        )


def missing_in(circuit: Circuit, record: Mapping[str, Any]) -> list[str]:
    """The ids that a requirement or procedure names and the circuit does not have, in order."""
    return list(dict.fromkeys(i for i in _named(record) if i not in circuit))


def _named(record: Mapping[str, Any]) -> Iterator[str]:
    for key in ("from", "other", "may_share"):
        yield from record.get(key, ())
    for failure in record.get("failures", ()):
        yield failure if isinstance(failure, str) else str(failure[0])
    for port in record.get("targets", ()):
        yield str(port).rpartition(".")[0]
    for key in ("set", "start"):
        yield from record.get(key, {})
    for step in record.get("steps", ()):
        yield from step.get("set", {})
        if "after" in step:
            yield _owner(step["after"]["signal"])
    for item in record.get("expect", ()):
        yield _owner(item["signal"])


def _owner(signal: str) -> str:
    """The id in `ID.extension`, `ID.PORT.pressure` or `LINE.flow`."""
    owner, _, name = signal.rpartition(".")
    return owner.rpartition(".")[0] if name in ("pressure", "inflow") else owner
