"""What a report is built of: headings, paragraphs, tables and drawings, in order.

A report is made once as such blocks, and then set as a page of HTML or on the pages of a
PDF. Neither is known here.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

from analysis.plain_text import one_line


class Span(NamedTuple):
    """A piece of text of one look; a line break is the span `BREAK`."""

    text: str
    bold: bool = False
    italic: bool = False


Text = tuple[Span, ...]
"""Text as it is set; its strings are on one line and hold no control characters."""

BREAK = Span("\n")


def set_text(*parts: str | Span | Text) -> Text:
    """Text from strings and spans, made fit to be shown.

    >>> set_text("a\\x1b b", bold("c"))
    (Span(text='a b', bold=False, italic=False), Span(text='c', bold=True, italic=False))
    """
    found: list[Span] = []
    for part in parts:
        spans: Iterable[Span] = (
            (Span(part),) if isinstance(part, str) else (part,) if isinstance(part, Span) else part
        )
        found += [s if s == BREAK else s._replace(text=one_line(s.text)) for s in spans if s.text]
    return tuple(found)


def bold(text: str) -> Span:
    """Text that stands out."""
    return Span(text, bold=True)


def italic(text: str) -> Span:
    """Text that stands back."""
    return Span(text, italic=True)


def in_lines(lines: Iterable[str | Span | Text]) -> Text:
    """Each on a line of its own."""
    found: list[Span] = []
    for line in lines:
        found += [BREAK] if found else []
        found += set_text(line)
    return tuple(found)


def plain(text: Text) -> str:
    """The bare characters."""
    return "".join(span.text for span in text)


@dataclass(frozen=True)
class Heading:
    """A heading: level 1 is the report's own, 2 a section's, 3 one inside a section."""

    text: str
    level: int = 2
    anchor: str = ""


@dataclass(frozen=True)
class Paragraph:
    """A paragraph; a small one is read only by who looks for it.

    `keep`: on pages it stands on that of what comes next.
    """

    text: Text
    small: bool = False
    keep: bool = False


@dataclass(frozen=True)
class Bullets:
    """A list of points."""

    items: tuple[Text, ...]


@dataclass(frozen=True)
class SmallList:
    """Lines that are read only by who looks for them, such as the ways in words.

    On pages they stand on that of what comes before, as far as they fit; what goes over
    stands under `continued`.
    """

    items: tuple[Text, ...]
    continued: str


@dataclass(frozen=True)
class Table:
    """A table: `widths` in percent, `numbers` the columns that are set to the right.

    A heading may have several lines.
    """

    headings: tuple[str, ...]
    widths: tuple[int, ...]
    rows: tuple[tuple[Text, ...], ...]
    numbers: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        count = len(self.headings)
        if len(self.widths) != count or any(len(row) != count for row in self.rows):
            raise ValueError(f"a table of the columns {self.headings} has other rows or widths")


def heading_text(heading: str) -> Text:
    """The heading of a column as text."""
    return in_lines(bold(line) for line in heading.split("\n"))


@dataclass(frozen=True)
class Frame:
    """Blocks inside a heavy frame."""

    blocks: tuple[Paragraph | Bullets, ...]


@dataclass(frozen=True)
class Signatures:
    """A table with room to sign, a row for each role."""

    headings: tuple[str, ...]
    widths: tuple[int, ...]
    roles: tuple[str, ...]


@dataclass(frozen=True)
class Contents:
    """The list of the sections, with the numbers of their pages where there are pages."""


@dataclass(frozen=True)
class SheetDrawing:
    """The drawn sheet; on pages it has one of its own size."""


@dataclass(frozen=True)
class WayDrawing:
    """The drawing of what shows a requirement's verdict: `Report.pictures[index]`."""

    index: int
    caption: Text


Block = (
    Heading
    | Paragraph
    | Bullets
    | SmallList
    | Table
    | Frame
    | Signatures
    | Contents
    | SheetDrawing
    | WayDrawing
)
