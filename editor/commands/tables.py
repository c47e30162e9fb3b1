"""Plain text tables, and CSV that no spreadsheet takes for formulas."""

from __future__ import annotations

import csv
import io
import unicodedata
from collections.abc import Iterable, Sequence

from analysis.plain_text import one_line

_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def text_table(headings: Sequence[str], rows: Iterable[Sequence[str]], right: str = "") -> str:
    """A table in columns with two spaces between; empty text if there are no rows.

    `right` has an `r` for each column that is set flush right, as numbers are: `" rr"`.
    """
    cells = [[one_line(cell) for cell in row] for row in rows]
    if not cells:
        return ""
    table = [list(headings), *cells]
    widths = [max(_width(row[column]) for row in table) for column in range(len(headings))]
    lines = []
    for row in table:
        parts = []
        for column, cell in enumerate(row):
            gap = " " * (widths[column] - _width(cell))
            parts.append(gap + cell if right[column : column + 1] == "r" else cell + gap)
        lines.append("  ".join(parts).rstrip())
    return "\n".join(lines) + "\n"


def _width(text: str) -> int:
    """Columns that a terminal needs for the text."""
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1
        for c in text
    )


def csv_text(headings: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """CSV as RFC 4180 has it, lines ended by CR LF, with formulas neutralised."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(headings)
    writer.writerows([neutral(cell) for cell in row] for row in rows)
    return stream.getvalue()


def neutral(cell: str) -> str:
    """The cell as text: an apostrophe is put before what a spreadsheet would calculate.

    A plain number stays a number, its sign too.

    >>> neutral("=1+1"), neutral("-3.5"), neutral("-3 mm")
    ("'=1+1", '-3.5', "'-3 mm")
    """
    if not cell.lstrip(" ").startswith(_FORMULA):
        return cell
    try:
        float(cell)
    except ValueError:
        return "'" + cell
    return cell
