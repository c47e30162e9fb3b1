"""Where lines join: the points that carry a dot on the sheet."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from analysis.circuit import Circuit
from analysis.routing import Point, end_at


def find_joints(circuit: Circuit, places: Mapping[str, Point] | None = None) -> list[Point]:
    """The ports at which two or more lines end, in modules, in the order of the file.

    Lines that merely cross do not join. A junction is left out: its symbol is a dot already.

    Parameters
    ----------
    places
        Where components stand, by id, in place of their own `at`.

    Examples
    --------
    >>> circuit = Circuit()
    >>> _ = [circuit.add("plug", id=f"0Z{n}", at=(10 * n, 0)) for n in (1, 2, 3)]
    >>> _ = circuit.connect("0Z1.A", "0Z2.A"), circuit.connect("0Z2.A", "0Z3.A")
    >>> find_joints(circuit) == [end_at(circuit, "0Z2.A").at]
    True
    """
    meeting = Counter(port for line in circuit.lines.values() for port in (line.start, line.end))
    return [
        end_at(circuit, port, places).at
        for port, count in meeting.items()
        if count > 1 and circuit.components[port.rpartition(".")[0]].kind != "junction"
    ]
