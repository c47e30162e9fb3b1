"""How parts are named in sentences, the same everywhere."""

from __future__ import annotations

from collections.abc import Iterable

from analysis.circuit import Circuit, Component, Line


def described(element: Component | Line) -> str:
    """The id with the name, where it has one: `1A1 (left gear)`.

    >>> described(Component("1A1", "cylinder", name="left gear"))
    '1A1 (left gear)'
    """
    return f"{element.id} ({element.name})" if element.name else element.id


def named(element: Component | Line) -> str:
    """The name alone; of a line without one what it joins: `0P1.outlet to 1A1.cap`."""
    if element.name or isinstance(element, Component):
        return element.name or "–"
    return f"{element.start} to {element.end}"


def described_port(circuit: Circuit, port: str) -> str:
    """The port with its component's name, where it has one: `1A1.cap (left gear)`."""
    component = circuit.components.get(port.rpartition(".")[0])
    return f"{port} ({component.name})" if component and component.name else port


def listed(words: Iterable[str], joint: str = "and", most: int = 0) -> str:
    """`a, b and c`; where there are many more than `most` (0: no limit), how many more.

    >>> listed(["a", "b", "c"]), listed(["a"]), listed(["a", "b"], "or")
    ('a, b and c', 'a', 'a or b')
    >>> listed("abcde", most=2), listed("abc", most=2)
    ('a, b and 3 more', 'a, b and c')
    """
    found = list(words)
    if 0 < most < len(found) - 1:
        found[most:] = [f"{len(found) - most} more"]
    if len(found) < 2:
        return "".join(found)
    return f"{', '.join(found[:-1])} {joint} {found[-1]}"


def along(elements: Iterable[str]) -> str:
    """A way in words: `0P1 - L1 - 1A1`."""
    return " - ".join(elements)
