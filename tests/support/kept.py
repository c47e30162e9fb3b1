"""Throwing away all that is kept of earlier networks, so that the next is made from nothing."""

from __future__ import annotations

from analysis.branch_laws import friction_at_4000, pipe_row
from analysis.elimination import find_order
from analysis.laid_lines import forget_lines
from analysis.laid_parts import forget_parts
from analysis.resolved import forget_resolved
from analysis.structure import find_structure


def forget() -> None:
    """As if no circuit had been seen before; elements keep the values they hold."""
    forget_resolved()
    forget_lines()
    forget_parts()
    for kept in (find_structure, find_order, pipe_row, friction_at_4000):
        kept.cache_clear()
