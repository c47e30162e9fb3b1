"""The lettering of a sheet's form: title block, cautions, notes.

Fields and the width of 180 mm follow ISO 7200 (from memory). Lengths are in millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from textwrap import wrap
from typing import Literal

from analysis.circuit import Circuit
from analysis.file_decoding import VERSION
from analysis.file_text import file_text
from analysis.plain_text import one_line, with_degree_signs

Point = tuple[float, float]

CAUTION = (
    "Fluid under pressure pierces skin; pressure stays stored. Approved data, local codes and "
    "licensed persons decide. Not for release to service."
)
DOCUMENT = "Hydraulic circuit diagram"

_HEADING = 6.0
"""What the heading of the notes and the air around them take of their height."""
_SIZES = (2.5, 2.0, 1.5)
"""Heights of lettering that the notes are tried with."""
_ADVANCE = 0.72
"""Width of a character over the height of capitals, a little more than it usually is."""
_LEADING = 1.5


@dataclass(frozen=True)
class Box:
    """An upright rectangle [mm, or modules where it says so]."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """From left to right."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From top to bottom."""
        return self.bottom - self.top

    def meets(self, other: Box) -> bool:
        """Whether the two have more than an edge in common."""
        across = self.left < other.right and other.left < self.right
        return across and self.top < other.bottom and other.top < self.bottom

    def holds(self, other: Box) -> bool:
        """Whether the other lies inside."""
        across = self.left <= other.left and other.right <= self.right
        return across and self.top <= other.top and other.bottom <= self.bottom

    def grown(self, by: float) -> Box:
        """Larger on every side."""
        return Box(self.left - by, self.top - by, self.right + by, self.bottom + by)

    def moved(self, scale: float, x: float, y: float) -> Box:
        """Scaled about the origin, then shifted."""
        return Box(
            self.left * scale + x, self.top * scale + y,
            self.right * scale + x, self.bottom * scale + y,
        )  # fmt: skip


@dataclass(frozen=True)
class Rule:
    """A chain of straight lines of a width [mm]."""

    points: tuple[Point, ...]
    width: float


@dataclass(frozen=True)
class Label:
    """Lettering: `at` is the middle of its anchored end, `height` that of capitals [mm]."""

    text: str
    at: Point
    height: float
    anchor: Literal["left", "centre", "right"] = "left"
    bold: bool = False
    most: float | None = None
    """The width [mm] it has to be set within."""


def checksum(circuit: Circuit) -> str:
    """The SHA-256 of the circuit's file as the program writes it, in hexadecimal digits."""
    return sha256(file_text(circuit, VERSION).encode("utf-8", "replace")).hexdigest()


def title_block(
    circuit: Circuit, corner: Point, *, size: str, module: float
) -> tuple[list[Rule], list[Label]]:
    """Lines and lettering of the block whose upper left corner stands at `corner`."""
    title = {key: one_line(text) for key, text in circuit.title.items()}
    fluid = [str(circuit.fluid[key]) for key in ("kind", "temperature") if key in circuit.fluid]
    cells = [
        # x, y, width, height, heading, text, height of the text
        (0.0, 0.0, 45.0, 9.0, "Created by", title.get("drawn_by", ""), 2.5),
        (0.0, 9.0, 45.0, 9.0, "Approved by", title.get("checked_by", ""), 2.5),
        (0.0, 18.0, 45.0, 9.0, "Date of issue", title.get("date", ""), 2.5),
        (45.0, 0.0, 85.0, 18.0, "Title", title.get("name", ""), 3.5),
        (45.0, 18.0, 42.5, 9.0, "Document type", DOCUMENT, 2.5),
        (87.5, 18.0, 42.5, 9.0, "Liquid", with_degree_signs(one_line(", ".join(fluid))), 2.5),
        (130.0, 0.0, 50.0, 9.0, "Identification number", title.get("number", ""), 3.5),
        (130.0, 9.0, 14.0, 9.0, "Revision", title.get("revision", ""), 2.5),
        (144.0, 9.0, 10.0, 9.0, "Sheet", "1/1", 2.5),
        (154.0, 9.0, 10.0, 9.0, "Size", size, 2.5),
        (164.0, 9.0, 16.0, 9.0, "Module", f"{module:.3g} mm", 2.5),
        (130.0, 18.0, 50.0, 9.0, "SHA-256 of the circuit file", checksum(circuit)[:16], 2.5),
    ]
    rules: list[Rule] = []
    labels: list[Label] = []
    for left, top, width, height, heading, text, letters in cells:
        x, y = corner[0] + left, corner[1] + top
        box = ((x, y), (x + width, y), (x + width, y + height), (x, y + height), (x, y))
        rules.append(Rule(box, 0.0))
        labels.append(Label(heading, (x + 1.0, y + 1.7), 1.5, most=width - 2.0))
        labels += _value(text, Box(x + 1.0, y + 3.0, x + width - 1.0, y + height), letters)
    below = corner[1] + 30.0
    labels.append(Label(CAUTION, (corner[0] + 1.0, below), 1.8, most=178.0))
    return rules, labels


def _value(text: str, box: Box, height: float) -> list[Label]:
    """What stands in a field; in two lines where it is long and the field is high."""
    lines = [text] if text else []
    if box.height > 4 * height and len(text) > _characters(box.width + 4.0, height):
        lines = wrap(text, len(text) // 2 + 6)[:2]
    step = box.height / max(len(lines), 1)
    return [
        Label(
            line,
            (box.left, box.top + step * (number + 0.5)),
            height,
            bold=box.height > 4 * height,
            most=box.width,
        )
        for number, line in enumerate(lines)
    ]


def notes_height(notes: str, width: float) -> float:
    """How high [mm] a box of that width must be to hold the notes at their full size."""
    return _HEADING + _LEADING * _SIZES[0] * len(_wrapped(notes, _characters(width, _SIZES[0])))


def wrapped_notes(notes: str, box: Box) -> list[Label]:
    """The notes in lines, as large as they fit into the box; what does not fit is said so."""
    for height in _SIZES:
        lines = _wrapped(notes, _characters(box.width, height))
        most = int((box.height - _HEADING + 0.01) / (_LEADING * height))
        if len(lines) <= most:
            break
    else:
        lines = [*lines[: most - 1], "… (the rest stands in the circuit file)"]
    x, y = box.left + 2.0, box.top + 2.5
    labels = [Label("Notes", (x, y), 1.5)]
    for number, line in enumerate(lines):
        at = (x, y + 1.5 + _LEADING * height * (number + 0.6))
        labels.append(Label(line, at, height, most=box.width - 4.0))
    return labels


def _characters(width: float, height: float) -> int:
    """How many characters of that height a line of that width holds."""
    return int((width - 4.0) / (_ADVANCE * height))


def _wrapped(text: str, most: int) -> list[str]:
    """Lines of at most that many characters; the user's own line breaks are kept."""
    lines: list[str] = []
    for paragraph in text.splitlines():
        lines += wrap(one_line(paragraph), max(most, 10)) or [""]
    return lines
