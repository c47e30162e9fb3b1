"""Moving what is selected by the arrow keys: a row of steps is one move, as a drag is."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from analysis.circuit import Circuit
from analysis.routing import Point
from editor.editing import components_in
from editor.moving import Vias, following, led_clear, move_command, shifted

if TYPE_CHECKING:
    from editor.canvas.canvas import Canvas


@dataclass
class _Row:
    """Where everything was before the first step, and how far it has come since."""

    ids: tuple[str, ...]
    circuit: Circuit
    places: dict[str, Point]
    ways: dict[str, list[Point]]
    delta: Point = (0, 0)
    revision: int = field(default=-1)


class Nudge:
    """Moves by whole modules; lines follow, and are led round what is in their way.

    Every step is reckoned from where the row began. If it were reckoned from the step before,
    a detour round something that was only passed would stay.
    """

    def __init__(self, canvas: Canvas) -> None:
        self._canvas = canvas
        self._row: _Row | None = None
        self._to_be_led = False

    def step(self, dx: int, dy: int, *, held: bool = False) -> None:
        """Move what is selected by so many modules.

        `held`: the key repeats itself; the lines just follow until it is let go, since
        leading them may take longer than the next repeat.
        """
        canvas = self._canvas
        parts = components_in(canvas.circuit, canvas.selection.ids())
        if not parts or canvas.pointer.gesture is not None:
            return
        row = self._row_of(tuple(part.id for part in parts))
        row.delta = row.delta[0] + dx, row.delta[1] + dy
        self._put(row, led=not held)

    def settle(self) -> None:
        """The key is let go: lead the lines that have only followed so far."""
        row = self._row
        if row is not None and self._to_be_led and self._goes_on(row):
            self._put(row, led=True)
        self._to_be_led = False

    def _row_of(self, ids: tuple[str, ...]) -> _Row:
        row = self._row
        if row is None or row.ids != ids or not self._goes_on(row):
            canvas = self._canvas
            row = _Row(ids, canvas.circuit.copy(), canvas.places(), canvas.ways())
            self._row = row
        return row

    def _goes_on(self, row: _Row) -> bool:
        """Nothing has been changed, or undone, since its last step."""
        return row.revision == self._canvas.circuit.revision

    def _put(self, row: _Row, *, led: bool) -> None:
        before = row.circuit
        moved = shifted([before.components[i] for i in row.ids], row.places, row.delta)
        vias = following(before, moved, row.places)
        if led:
            vias = led_clear(before, moved, vias, row.places, row.ways)
        what = row.ids[0] if len(row.ids) == 1 else f"{len(row.ids)} parts"
        key = ("nudge", *row.ids)
        every = {**_as_they_were(row), **vias}
        canvas = self._canvas
        canvas.do(move_command(canvas.circuit, f"Move {what}", moved, every, key))
        row.revision = canvas.circuit.revision
        self._to_be_led = not led


def _as_they_were(row: _Row) -> Vias:
    """The corners of the lines at what is moved: a step before may have led them elsewhere."""
    ids = set(row.ids)
    return {
        line.id: list(line.via)
        for line in row.circuit.lines.values()
        if ids & {line.start.rpartition(".")[0], line.end.rpartition(".")[0]}
    }
