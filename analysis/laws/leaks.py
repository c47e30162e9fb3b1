"""Leaks: holes to the atmosphere and past a part's own seals."""

from __future__ import annotations

from analysis.part import Part

_OUTSIDE = ("outlet", "P", "cap", "left", "A", "fluid", "inlet", "free", "inlet_1", "supply")
_INSIDE = (("outlet", "inlet"), ("P", "T"), ("cap", "rod"), ("left", "right"), ("A", "B"))


def leak_ports(part: Part, fault: str) -> tuple[str, ...]:
    """The port that leaks to the outside, or the two that an internal leak joins."""
    if fault == "external_leak":
        return (next(p for p in _OUTSIDE if p in part.ports),)
    return next(pair for pair in _INSIDE if set(pair) <= set(part.ports))


def add_leaks(part: Part) -> None:
    """Add the hole of a part whose fault is a leak.

    An external leak is at the part's pressure port and lets nothing in; an internal one
    joins its two main ports.
    """
    if part.fault == "external_leak":
        (port,) = leak_ports(part, part.fault)
        branch = part.net.turbulent(((part.ports[port], 1.0), (0, -1.0)), part.leak(), reverse=0.0)
        part.branches["leak"] = part.tap(((port, 1.0),), branch)
    elif part.fault == "internal_leak":
        start, end = leak_ports(part, part.fault)
        part.branches["leak"] = part.passage(start, end, part.leak())
