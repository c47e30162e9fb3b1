"""Failures in words."""

from __future__ import annotations

from analysis.circuit import Circuit, Component
from analysis.elements import Element
from analysis.failure_modes import Failure

_ADJECTIVES = ("ruptured", "blocked", "stuck", "stuck_open", "stuck_closed")


def mode_words(mode: str) -> str:
    """A failure mode as it is read: `no output`."""
    return mode.replace("_", " ")


def failure_words(circuit: Circuit, failure: Failure) -> str:
    """What has failed and how: `line L7 ruptured`, `hand pump 0P2 (Wobble pump): no output`."""
    if failure.subject not in circuit:
        what = failure.subject
    else:
        what = element_words(circuit.element(failure.subject))
    joint = " " if failure.mode in _ADJECTIVES else ": "
    return f"{what}{joint}{mode_words(failure.mode)}"


def element_words(element: Element) -> str:
    """A part or line with its id, and its name if it has one."""
    title = element.declared.title if isinstance(element, Component) else "Line"
    named = f" ({element.name})" if element.name else ""
    return f"{title[0].lower()}{title[1:]} {element.id}{named}"


def quoted(names: tuple[str, ...] | list[str]) -> str:
    """Names of functions in one row: `“A”, “B”`."""
    return ", ".join(f"“{name}”" for name in names)
