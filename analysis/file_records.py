"""The circuit file's schema: what keys and types may stand where.

`msgspec` checks a parsed file against these records and names the place of what does not
fit; what a number, a word or an id *means* is checked afterwards, by `circuit_file`.
"""

from __future__ import annotations

from typing import Any, Literal

import msgspec
from msgspec import UNSET, UnsetType

Number = int | float
Point = tuple[Number, Number]


class _Record(msgspec.Struct, forbid_unknown_fields=True, kw_only=True):
    """A record of the file: unknown keys are errors, absent ones stay absent."""


class Evidence(_Record):
    """How well something is known, and from where."""

    status: Literal["confirmed", "inferred", "assumed", "unknown"]
    source: str | UnsetType = UNSET


class Waiver(_Record):
    """A rule that is not held against a part, why, and who says so."""

    rule: str
    reason: str
    by: str
    date: str | UnsetType = UNSET


class ComponentRecord(_Record):
    """One component."""

    id: str
    kind: str
    name: str | UnsetType = UNSET
    at: Point | UnsetType | None = UNSET
    turn: Literal[0, 90, 180, 270] | UnsetType = UNSET
    mirror: bool | UnsetType = UNSET
    labels: dict[str, str] | UnsetType = UNSET
    settings: dict[str, Any] | UnsetType = UNSET
    state: dict[str, Any] | UnsetType = UNSET
    evidence: Evidence | UnsetType = UNSET
    waivers: list[Waiver] | UnsetType = UNSET


class LineRecord(_Record, rename={"start": "from", "end": "to"}):
    """One line."""

    id: str
    start: str
    end: str
    name: str | UnsetType = UNSET
    via: list[Point] | UnsetType = UNSET
    role: Literal["pressure", "return", "suction", "pilot", "drain"] | UnsetType = UNSET
    bore: Any = UNSET
    length: Any = UNSET
    roughness: Any = UNSET
    leak_diameter: Any = UNSET
    state: dict[str, Any] | UnsetType = UNSET
    evidence: Evidence | UnsetType = UNSET
    waivers: list[Waiver] | UnsetType = UNSET


class Sheet(_Record):
    """The paper it is drawn on, ISO 5457."""

    size: Literal["A4", "A3", "A2", "A1", "A0"] | UnsetType = UNSET


class Fluid(_Record):
    """The liquid in the circuit."""

    kind: str | UnsetType = UNSET
    temperature: str | UnsetType = UNSET


class Title(_Record):
    """The title block, ISO 7200."""

    name: str | UnsetType = UNSET
    number: str | UnsetType = UNSET
    revision: str | UnsetType = UNSET
    drawn_by: str | UnsetType = UNSET
    checked_by: str | UnsetType = UNSET
    date: str | UnsetType = UNSET
    notes: str | UnsetType = UNSET


Changes = dict[str, dict[str, Any]]


class ConditionRecord(_Record):
    """When a step is due: a signal has got somewhere."""

    signal: str
    at_least: str | Number | UnsetType = UNSET
    at_most: str | Number | UnsetType = UNSET
    is_: str | bool | UnsetType = msgspec.field(name="is", default=UNSET)


class StepRecord(_Record):
    """One step of a procedure."""

    at: str | UnsetType = UNSET
    after: ConditionRecord | UnsetType = UNSET
    wait: str | UnsetType = UNSET
    set: Changes | UnsetType = UNSET
    note: str | UnsetType = UNSET


class ExpectationRecord(ConditionRecord):
    """What must come of a procedure."""

    by: str | UnsetType = UNSET
    throughout: bool | UnsetType = UNSET


class ProcedureRecord(_Record):
    """A procedure."""

    name: str
    notes: str | UnsetType = UNSET
    start: Changes | UnsetType = UNSET
    steps: list[StepRecord] | UnsetType = UNSET
    expect: list[ExpectationRecord] | UnsetType = UNSET


class RequirementRecord(_Record, rename={"sources": "from"}):
    """A requirement."""

    name: str
    kind: Literal["reaches", "reaches_only", "reaches_none", "independent", "survives"]
    notes: str | UnsetType = UNSET
    sources: list[str] | UnsetType = UNSET
    other: list[str] | UnsetType = UNSET
    targets: list[str] | UnsetType = UNSET
    may_share: list[str] | UnsetType = UNSET
    set: Changes | UnsetType = UNSET
    procedure: str | UnsetType = UNSET
    failures: list[str | tuple[str, str]] | UnsetType = UNSET


class FileRecord(_Record):
    """The whole file."""

    format: Literal["standpipe-circuit"]
    version: int
    components: list[ComponentRecord]
    lines: list[LineRecord]
    title: Title | UnsetType = UNSET
    sheet: Sheet | UnsetType = UNSET
    display_units: dict[str, str] | UnsetType = UNSET
    fluid: Fluid | UnsetType = UNSET
    procedures: list[ProcedureRecord] | UnsetType = UNSET
    requirements: list[RequirementRecord] | UnsetType = UNSET


def _keys() -> frozenset[str]:
    """Every key that the schema knows, for proposing the nearest."""
    records = [value for value in globals().values() if isinstance(value, type)]
    return frozenset(
        field.encode_name
        for record in records
        if issubclass(record, msgspec.Struct)
        for field in msgspec.structs.fields(record)
    )


KEYS = _keys()


def all_keys() -> list[str]:
    """Every key that may stand anywhere in a file, for proposing the one that was meant."""
    records = [*_Record.__subclasses__(), *ConditionRecord.__subclasses__()]
    names = (field.encode_name for record in records for field in msgspec.structs.fields(record))
    return sorted(set(names))
