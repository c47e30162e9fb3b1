"""The parts list: what the circuit is made of, with what is known of each part and how well."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from analysis.circuit import Circuit, Component, Line
from symbols import Setting

HEADINGS = ("id", "kind", "name", "settings", "evidence", "source")


@dataclass(frozen=True)
class PartRow:
    """One row: a component, or a line that has a size.

    `settings` holds (title, text as it was written) pairs, in the order of the file.
    """

    id: str
    kind: str
    name: str
    settings: tuple[tuple[str, str], ...]
    evidence: str
    source: str

    def cells(self) -> tuple[str, ...]:
        """The row as texts, in the order of `HEADINGS`."""
        settings = "; ".join(f"{title.lower()} {text}" for title, text in self.settings)
        return self.id, self.kind, self.name, settings, self.evidence, self.source


def parts_list(circuit: Circuit) -> tuple[PartRow, ...]:
    """The components in the order of the file, then the lines that are known as pipes.

    Junctions are joints in the drawing and no parts; a line without bore and length is
    ideal and no part either.

    Examples
    --------
    >>> circuit = Circuit()
    >>> _ = circuit.add("restrictor", id="0V1", name="Up-lock damper", diameter="1 mm")
    >>> [row.cells()[:4] for row in parts_list(circuit)]
    [('0V1', 'Restrictor', 'Up-lock damper', 'orifice diameter 1 mm')]
    """
    parts: list[Component | Line] = [c for c in circuit.components.values() if c.kind != "junction"]
    pipes: list[Component | Line] = [
        x for x in circuit.lines.values() if {"bore", "length"} & set(x.settings)
    ]
    return tuple(_row(element) for element in parts + pipes)


def _row(element: Component | Line) -> PartRow:
    settings = [(element.setting_of(name), raw) for name, raw in element.settings.items()]
    return PartRow(
        element.id,
        element.declared.title if isinstance(element, Component) else "Line",
        element.name,
        tuple((declared.title, written(raw, declared)) for declared, raw in settings),
        element.evidence.get("status", ""),
        element.evidence.get("source", ""),
    )


def written(raw: Any, declared: Setting) -> str:
    """A written value as a reader of a list expects it: text, range, `unknown`, table."""
    if raw is None:
        return "unknown"
    if isinstance(raw, bool):
        return "yes" if raw else "no"
    if isinstance(raw, dict):
        low, high = raw["between"]
        return f"{low} to {high}"
    if isinstance(raw, list):
        return ", ".join(f"{value} at {position}" for position, value in raw)
    return str(raw)
