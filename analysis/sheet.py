"""The drawn sheet: paper, frame, title block, and where the circuit goes on it.

Sizes are those of ISO 216; frame, reference fields and centring marks follow ISO 5457, the
title block ISO 7200, lettering heights ISO 3098 (all from memory). Lengths are in
millimetres on paper from its upper left corner, y downwards. No painter is known here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor

from analysis.circuit import Circuit
from analysis.sheet_texts import Box, Label, Rule, notes_height, title_block, wrapped_notes

MODULE = 2.5
"""A grid module on paper [mm]."""

SHEETS = {
    "A4": (297.0, 210.0),
    "A3": (420.0, 297.0),
    "A2": (594.0, 420.0),
    "A1": (841.0, 594.0),
    "A0": (1189.0, 841.0),
}
"""Width and height [mm], lying."""

DEFAULT_SIZE = "A3"
FRAME_WIDTH, BORDER_WIDTH, THIN_WIDTH = 0.7, 0.35, 0.25
"""Line widths [mm]: frame and centring marks; block; fields and references."""

FILING_MARGIN, MARGIN = 20.0, 10.0
_BORDER = 5.0
"""The strip outside the frame that holds the references."""
_FIELD = 50.0
BLOCK_WIDTH, BLOCK_HEIGHT = 180.0, 33.0
_CLEAR = 3.0
"""What is kept free between the circuit and the frame or the block."""


@dataclass(frozen=True)
class Sheet:
    """A sheet, ready to be painted.

    `module` is what a grid module measures on paper [mm] and `origin` where the circuit's
    origin comes to lie [mm]; `rules` and `labels` are all lines and lettering of the form.
    """

    size: str
    width: float
    height: float
    module: float
    origin: tuple[float, float]
    rules: tuple[Rule, ...]
    labels: tuple[Label, ...]


def compose(circuit: Circuit, drawn: Sequence[Box]) -> Sheet:
    """The sheet for a circuit.

    The circuit stays where the user put it on the paper if it keeps clear of the frame, the
    title block and the notes there. Else, and if the user placed nothing, it is shifted by
    whole modules to the middle, and only if it is too large for the paper it is drawn
    smaller; the title block tells the module.

    Parameters
    ----------
    circuit
        With its title and size of sheet; without one the smallest from A3 up is taken on
        which the circuit has room at full size.
    drawn
        What each part of the drawing covers, lettering included, in modules.

    Returns
    -------
    Sheet
    """
    written = circuit.sheet.get("size")
    sizes = [written] if written in SHEETS else ["A3", "A2", "A1", "A0"]
    for size in sizes[:-1]:
        setting = _set_out(size, circuit, drawn)
        if setting.module == MODULE:
            return _sheet(size, circuit, setting)
    return _sheet(sizes[-1], circuit, _set_out(sizes[-1], circuit, drawn))


@dataclass(frozen=True)
class _Setting:
    """How a circuit is set out: module [mm], origin [mm], and the place of the notes."""

    module: float
    origin: tuple[float, float]
    notes: Box | None


def frame_of(size: str) -> Box:
    """The frame that limits the drawing space."""
    width, height = SHEETS[size]
    return Box(FILING_MARGIN, MARGIN, width - MARGIN, height - MARGIN)


def block_of(size: str) -> Box:
    """The title block, in the lower right corner of the frame."""
    frame = frame_of(size)
    return Box(frame.right - BLOCK_WIDTH, frame.bottom - BLOCK_HEIGHT, frame.right, frame.bottom)


# -- where the circuit and the notes go ------------------------------------------------


def _set_out(size: str, circuit: Circuit, drawn: Sequence[Box]) -> _Setting:
    frame, block = frame_of(size), block_of(size)
    space = frame.grown(-_CLEAR)
    notes = circuit.title.get("notes", "")
    there = [part.moved(MODULE, 0.0, 0.0) for part in drawn]
    by_hand = any(component.at is not None for component in circuit.components.values())
    free = all(space.holds(part) and not part.grown(_CLEAR).meets(block) for part in there)
    if free and (by_hand or not drawn):
        room = _room_for_notes(notes, size, there)
        if room is not None or not notes.strip():
            return _Setting(MODULE, (0.0, 0.0), room)
    beside = Box(frame.left, block.top, block.left, frame.bottom)
    strip = beside if notes.strip() else None
    room = Box(space.left, space.top, space.right, block.top - _CLEAR)
    return _Setting(*_shifted(room, _around(drawn)), strip)


def _room_for_notes(notes: str, size: str, taken: Sequence[Box]) -> Box | None:
    """A free place for the notes, the lowest and there the rightmost; None if there is none."""
    if not notes.strip():
        return None
    frame, block = frame_of(size).grown(-1.0), block_of(size)
    occupied = [*(part.grown(_CLEAR) for part in taken), block.grown(1.0)]
    for width in (BLOCK_WIDTH, 120.0, 240.0, 90.0):
        height = notes_height(notes, width)
        bottom = frame.bottom
        while bottom - height >= frame.top:
            right = frame.right
            while right - width >= frame.left:
                box = Box(right - width, bottom - height, right, bottom)
                if not any(box.meets(other) for other in occupied):
                    return box
                right -= 10.0
            bottom -= 10.0
    return None


def _shifted(room: Box, whole: Box) -> tuple[float, tuple[float, float]]:
    """(module [mm], origin [mm]) with which a drawing lies in the middle of a room.

    By whole modules at full size, so that what stood on the grid of the paper still does.
    """
    right = ceil(room.left / MODULE - whole.left)
    down = ceil(room.top / MODULE - whole.top)
    across = floor((room.right / MODULE - whole.right - right) / 2)
    along = floor((room.bottom / MODULE - whole.bottom - down) / 2)
    if across >= 0 and along >= 0:
        return MODULE, ((right + across) * MODULE, (down + along) * MODULE)
    module = min(room.width / whole.width, room.height / whole.height, MODULE)
    x = room.left + (room.width - whole.width * module) / 2 - whole.left * module
    y = room.top + (room.height - whole.height * module) / 2 - whole.top * module
    return module, (x, y)


def _around(boxes: Sequence[Box]) -> Box:
    return Box(
        min(b.left for b in boxes), min(b.top for b in boxes),
        max(b.right for b in boxes), max(b.bottom for b in boxes),
    )  # fmt: skip


# -- the form --------------------------------------------------------------------------


def _sheet(size: str, circuit: Circuit, setting: _Setting) -> Sheet:
    width, height = SHEETS[size]
    frame, block = frame_of(size), block_of(size)
    rules, labels = _references(size)
    rules += [_rectangle(frame, FRAME_WIDTH), _rectangle(block, BORDER_WIDTH)]
    block_rules, block_labels = title_block(
        circuit, (block.left, block.top), size=size, module=setting.module
    )
    rules += [Rule(rule.points, THIN_WIDTH) for rule in block_rules]
    labels += block_labels
    if setting.notes is not None:
        labels += wrapped_notes(circuit.title["notes"], setting.notes)
    return Sheet(size, width, height, setting.module, setting.origin, tuple(rules), tuple(labels))


def _rectangle(box: Box, width: float) -> Rule:
    corners = (
        (box.left, box.top),
        (box.right, box.top),
        (box.right, box.bottom),
        (box.left, box.bottom),
        (box.left, box.top),
    )
    return Rule(corners, width)


def _references(size: str) -> tuple[list[Rule], list[Label]]:
    """Border, fields of 50 mm counted from the centre of the paper, centring marks.

    Letters run from the top down, without I and O, numerals from the left to the right.
    """
    width, height = SHEETS[size]
    frame = frame_of(size)
    outer = frame.grown(_BORDER)
    rules = [_rectangle(outer, THIN_WIDTH)]
    labels: list[Label] = []
    columns = _fields(frame.left, frame.right, width / 2, (width - 30.0) / 2)
    rows = _fields(frame.top, frame.bottom, height / 2, (height - 20.0) / 2)
    for number, (start, end) in enumerate(columns, start=1):
        middle = (start + end) / 2
        for y, edge in ((outer.top, frame.top), (frame.bottom, outer.bottom)):
            labels.append(Label(str(number), (middle, (y + edge) / 2), 3.5, "centre"))
            if number > 1:
                rules.append(Rule(((start, y), (start, edge)), THIN_WIDTH))
    for row, (start, end) in enumerate(rows):
        letter = "ABCDEFGHJKLMNPQRSTUVWXYZ"[row]
        for x, edge in ((outer.left, frame.left), (frame.right, outer.right)):
            labels.append(Label(letter, ((x + edge) / 2, (start + end) / 2), 3.5, "centre"))
            if row:
                rules.append(Rule(((x, start), (edge, start)), THIN_WIDTH))
    rules += _centring_marks(width, height, frame)
    return rules, labels


def _fields(first: float, last: float, centre: float, half: float) -> list[tuple[float, float]]:
    """Start and end of each field; those at the ends take what is left."""
    count = round(half / _FIELD)
    inner = [centre + _FIELD * step for step in range(1 - count, count)]
    edges = [first, *inner, last]
    return list(pairwise(edges))


def _centring_marks(width: float, height: float, frame: Box) -> list[Rule]:
    """Short lines at the ends of the two axes of symmetry, 5 mm into the drawing space."""
    x, y = width / 2, height / 2
    ends: list[tuple[tuple[float, float], tuple[float, float]]] = [
        ((x, 0.0), (x, frame.top + 5.0)),
        ((x, frame.bottom - 5.0), (x, height)),
        ((0.0, y), (frame.left + 5.0, y)),
        ((frame.right - 5.0, y), (width, y)),
    ]
    return [Rule(pair, FRAME_WIDTH) for pair in ends]
