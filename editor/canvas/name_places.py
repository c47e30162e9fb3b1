"""Where names stand on the canvas: looked for once, when a circuit is opened.

While one edits, a name keeps its place beside its symbol, so that nothing jumps; a symbol
that is turned, renamed or new has its name at the usual side.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from PySide6.QtCore import QRectF

from analysis.circuit import Component
from analysis.routing import Point
from analysis.sheet import DEFAULT_SIZE, block_of, frame_of
from editor.canvas.lettering import (
    Words,
    heading_lines,
    lever_words,
    position_lines,
    to_scene,
    words_of,
)
from editor.sheet_lettering import Named, keep_inside, occupy, place_names
from symbols.kind import Look


@dataclass(frozen=True)
class _Placed:
    """The words of a component, and what they were made for."""

    key: tuple
    words: list[Words]


class NamePlaces:
    """The words around each component, by id."""

    def __init__(self) -> None:
        self._placed: dict[str, _Placed] = {}

    def look_for_places(
        self,
        components: Iterable[tuple[Component, Look, Point, QRectF]],
        routes: Mapping[str, list[Point]],
        size: str = DEFAULT_SIZE,
    ) -> None:
        """Find a place for every name: (component, look, place, extent around the place).

        `size`: of the sheet, whose frame no name should leave.
        """
        symbols = [
            Named(
                component,
                look,
                to_scene(at),
                bounds,
                lever_words(component, look),
                more=position_lines(component, look),
            )
            for component, look, at, bounds in components
        ]
        occupancy = occupy(symbols, routes.values())
        keep_inside(occupancy, frame_of(size), block_of(size))
        place_names(symbols, occupancy)
        self._placed = {
            symbol.component.id: _Placed(_key(symbol.component, symbol.look), symbol.words)
            for symbol in symbols
        }

    def words(self, component: Component, look: Look, bounds: QRectF) -> list[Words]:
        """All lettering around a component as it is now."""
        placed = self._placed.get(component.id)
        if placed is None or placed.key != _key(component, look):
            return words_of(component, look, bounds)
        words = placed.words
        # the word for the position stands last, and changes with the lever
        if now := position_lines(component, look):
            last = zip(words[-len(now) :], now, strict=True)
            words = [*words[: -len(now)], *(replace(word, text=text) for word, (text, *_) in last)]
        return [*words, *lever_words(component, look)]


def _key(component: Component, look: Look) -> tuple:
    lines = tuple(text for text, _bold, _colour in heading_lines(component, look))
    return lines, len(position_lines(component, look)), component.turn, component.mirror
