"""What a failure of a component changes in the network: branches that go, and that come."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from analysis.devices import Modulator, PilotCheck
from analysis.laws import LAWS, add_leaks
from analysis.network import Branch, Builder
from analysis.part import Part
from analysis.structure import Terms

Row = tuple[str, Terms, tuple[float, ...]]
"""A branch before it is laid: its family, its nodes with coefficients, its parameters."""

_MORE_THAN_BRANCHES = ("pressure_source", "accumulator", "flow_meter")
"""Kinds that hold a pressure or join two nodes: no branch shows what they do."""


@dataclass(frozen=True)
class Change:
    """Branches that the failure takes out, those that it puts in their place, and nodes that
    it opens to the atmosphere."""

    removed: tuple[Branch, ...]
    added: tuple[Row, ...]
    opened: tuple[int, ...] = ()


def change_of_part(part: Part, mode: str) -> Change | None:
    """What the failure of a whole part changes; None where branches do not tell it all.

    Parameters
    ----------
    part
        As it is laid in a network for time steps, without any fault.
    mode
        Its failure. A lever that is stuck changes nothing as long as nobody moves it; one
        that a cylinder moves is not told.
    """
    if part.fault != "none" or part.kind in _MORE_THAN_BRANCHES:
        return None
    if part.settings.get("operator") == "roller" and mode == "stuck":
        return None
    whole, failed = _laid(part, "none"), _laid(part, mode)
    opened = tuple(part.ports[port] for port in ("A", "B")) if mode == "ruptured" else ()
    held = set(failed.net.fixed) - set(part.net.fixed) - set(opened)
    if held or failed.net.count != part.net.count or _switches(whole) != _switches(failed):
        return None
    now, laid = _handles(part), _handles(whole)
    if len(now) != len(laid) or len(laid) != sum(map(len, whole.net.rows.values())):
        return None
    left = [_row(failed.net, handle) for handle in _handles(failed)]
    removed: list[Branch] = []
    for own, copy in zip(now, laid, strict=True):
        row = _row(whole.net, copy)
        if row in left:
            left.remove(row)
        else:
            removed.append(own)
    return Change(tuple(removed), tuple(left), opened)


def _laid(part: Part, fault: str) -> Part:
    """The part alone, laid anew with a fault."""
    net = Builder(dict(part.net.nodes), part.net.count, dict(part.net.fixed), dynamic=True)
    twin = replace(part, fault=fault, net=net, taps=[], branches={})
    LAWS[part.kind](twin)
    if fault.endswith("_leak"):
        add_leaks(twin)
    return twin


def _switches(part: Part) -> list[Any]:
    """What changes over in it; what only opens a branch of its own is told by the branch."""
    return [d for d in part.net.devices if not isinstance(d, Modulator | PilotCheck)]


def _handles(part: Part) -> list[Branch]:
    return list(dict.fromkeys(branch for _, branch, _ in part.taps))


def _row(net: Builder, handle: Branch) -> Row:
    return (
        handle.family,
        tuple(net.terms[handle.family][handle.row]),
        net.rows[handle.family][handle.row],
    )
