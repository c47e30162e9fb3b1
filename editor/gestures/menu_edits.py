"""What the Edit menu and its keys do with the selection."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.circuit import Circuit
from analysis.errors import CircuitError
from editor.clipboard import adopted, copy_to_clipboard, fragment, from_clipboard
from editor.editing import components_in, remove_command
from editor.gestures.place_part import PlacePart
from editor.moving import Moved, following, led_clear, mirrored, move_command, turned
from editor.undo_commands import AddElements

if TYPE_CHECKING:
    from editor.canvas.canvas import Canvas

_OFFSET = 4
"""How far a duplicate stands off, in modules, right and down."""


def turn(canvas: Canvas) -> None:
    """Turn what is selected, or the part about to be placed, by a quarter clockwise."""
    if isinstance(canvas.pointer.gesture, PlacePart):
        canvas.pointer.gesture.turn()
        return
    parts = components_in(canvas.circuit, canvas.selection.ids())
    if parts:
        _change(canvas, "Turn", turned(parts, canvas.places(), 90))


def mirror(canvas: Canvas) -> None:
    """Mirror what is selected, or the part about to be placed, left to right."""
    if isinstance(canvas.pointer.gesture, PlacePart):
        canvas.pointer.gesture.mirror()
        return
    parts = components_in(canvas.circuit, canvas.selection.ids())
    if parts:
        _change(canvas, "Mirror", mirrored(parts, canvas.places()))


def _change(canvas: Canvas, verb: str, moved: Moved) -> None:
    parts = moved.parts
    what = next(iter(parts)) if len(parts) == 1 else f"{len(parts)} parts"
    vias = following(canvas.circuit, moved, canvas.places())
    vias = led_clear(canvas.circuit, moved, vias, canvas.places(), canvas.ways())
    canvas.do(move_command(canvas.circuit, f"{verb} {what}", moved, vias))


def delete(canvas: Canvas) -> None:
    """Remove what is selected; lines go with their component."""
    canvas.do(remove_command(canvas.circuit, canvas.selection.ids()))


def copy(canvas: Canvas) -> None:
    """Copy what is selected to the clipboard."""
    if _has_parts(canvas):
        copy_to_clipboard(_piece(canvas))


def cut(canvas: Canvas) -> None:
    """Copy what is selected to the clipboard and remove it."""
    if _has_parts(canvas):
        copy_to_clipboard(_piece(canvas))
        canvas.do(remove_command(canvas.circuit, canvas.selection.ids(), "Cut"))


def duplicate(canvas: Canvas) -> None:
    """Put a copy of what is selected beside it."""
    if _has_parts(canvas):
        _insert(canvas, _piece(canvas), (_OFFSET, _OFFSET), "Duplicate")


def paste(canvas: Canvas) -> None:
    """Insert what is on the clipboard, at the pointer if it is over the sheet."""
    piece = from_clipboard()
    if piece is None or not piece.components:
        canvas.say("There is no part of a circuit on the clipboard", wrong=True)
        return
    spots = [c.at for c in piece.components.values() if c.at is not None] or [(0, 0)]
    left, top = min(x for x, _ in spots), min(y for _, y in spots)
    right, bottom = max(x for x, _ in spots), max(y for _, y in spots)
    target = canvas.pointer.last_at
    if target is None:
        target = canvas.to_sheet(canvas.viewport().rect().center())
    delta = round(target[0] - (left + right) / 2), round(target[1] - (top + bottom) / 2)
    _insert(canvas, piece, delta, "Paste")


def select_all(canvas: Canvas) -> None:
    """Select every component and line."""
    canvas.selection.set((*canvas.circuit.components, *canvas.circuit.lines))


def _has_parts(canvas: Canvas) -> bool:
    if components_in(canvas.circuit, canvas.selection.ids()):
        return True
    canvas.say("Select at least one part first", wrong=True)
    return False


def _piece(canvas: Canvas) -> Circuit:
    return fragment(canvas.circuit, canvas.selection.ids(), canvas.places())


def _insert(canvas: Canvas, piece: Circuit, delta: tuple[float, float], verb: str) -> None:
    try:
        elements = adopted(canvas.circuit, piece, delta)
        count = len(piece.components)
        what = next(iter(elements)).id if count == 1 else f"{count} parts"
        command = AddElements(canvas.circuit, elements, f"{verb} {what}")
    except CircuitError as error:
        canvas.say(str(error), wrong=True)
        return
    canvas.do(command)
    canvas.selection.set(element.id for element in elements)
