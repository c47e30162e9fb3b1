"""Picking strokes out of a drawing by what they stand for."""

from __future__ import annotations

from symbols import Kind, Look
from symbols.strokes import Stroke


def part(kind: Kind, name: str, look: Look) -> tuple[Stroke, ...]:
    """The strokes that stand for that part of the symbol."""
    return tuple(s for s in kind.drawing(look) if getattr(s, "part", None) == name)
