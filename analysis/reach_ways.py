"""A way of the reach matrix, found for one setting of the levers, to be shown."""

from __future__ import annotations

from collections.abc import Mapping

from analysis.circuit import Circuit
from analysis.reach_matrix import Part
from analysis.variants import with_changes
from analysis.ways import Way, Ways


def setting_of(part: Part) -> dict[str, dict[str, str]]:
    """One setting of a part of a cell, as `set` of a requirement is written.

    >>> setting_of({"1V1": ("left", "right")})
    {'1V1': {'position': 'left'}}
    """
    return {lever: {"position": positions[0]} for lever, positions in part.items()}


def way_in_setting(
    circuit: Circuit, source: str, port: str, setting: Mapping[str, Mapping[str, str]]
) -> Way | None:
    """The way from the source alone to the port with the levers set; None if there is none.

    Parameters
    ----------
    circuit
        Not changed. Levers that the setting does not name stay as they are.

    Raises
    ------
    UnknownElement, EditError
        If a part is not there.
    TooTangled
        If an exact answer would take too long.

    Examples
    --------
    >>> circuit = Circuit()
    >>> _ = circuit.add("pressure_source", id="0P1"), circuit.add("cylinder", id="1A1")
    >>> _ = circuit.connect("0P1.outlet", "1A1.cap")
    >>> way_in_setting(circuit, "0P1", "1A1.cap", {}).elements
    ('0P1', 'L1', '1A1')
    """
    circuit.element(source)
    circuit.split_port(port)
    return Ways(with_changes(circuit, setting), [source]).way(source, port)


def settings_words(circuit: Circuit, part: Part) -> str:
    """A part of a cell in words: `1V1 DOWN or NEUTRAL, 2V1 EMERGENCY`; empty for any setting."""
    words = []
    for lever, positions in part.items():
        labels = circuit.components[lever].labels if lever in circuit.components else {}
        words.append(f"{lever} {' or '.join(labels.get(p, p) for p in positions)}")
    return ", ".join(words)
