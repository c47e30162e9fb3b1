"""The report as HTML: one page that needs nothing beside it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from analysis.plain_text import one_line
from analysis.report import Report, Units
from analysis.report_blocks import BREAK, Heading, Text, heading_text
from analysis.report_content import report_blocks

_TEMPLATES = Path(__file__).parent / "templates"


def html_page(report: Report, units: Units, drawing: str, way_drawings: Sequence[str] = ()) -> str:
    """The whole report as one HTML page.

    Parameters
    ----------
    drawing, way_drawings
        The sheet, and what shows the verdict on each requirement (by its index), as `svg`
        elements; they are put in as they are, everything else is escaped.
    """
    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["marked"] = _marked
    environment.filters["headed"] = lambda heading: _marked(heading_text(heading))
    blocks = report_blocks(report, units)
    title = report.circuit.title
    return environment.get_template("report.html").render(
        blocks=[(type(block).__name__, block) for block in blocks],
        sections=[b for b in blocks if isinstance(b, Heading) and b.level == 2],
        title=one_line(f"{title.get('number', '')} {title.get('name') or report.file_name}"),
        drawing=Markup(drawing),
        way_drawings=[Markup(svg) for svg in way_drawings],
    )


def _marked(text: Text) -> Markup:
    """Text with its looks as markup, and everything in it escaped."""
    found = Markup()
    for span in text:
        piece = Markup("<br>") if span == BREAK else Markup("{}").format(span.text)
        for tag, wanted in (("b", span.bold), ("i", span.italic)):
            if wanted:
                piece = Markup(f"<{tag}>{{}}</{tag}>").format(piece)
        found += piece
    return found
