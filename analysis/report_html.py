"""The report as HTML: one page that needs nothing beside it, or its parts for a printer."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from analysis.plain_text import one_line
from analysis.report import Report, Units, unstated
from analysis.report_readings import line_rows, port_rows, quantity_rows
from analysis.sheet_texts import checksum
from analysis.words import along

_TEMPLATES = Path(__file__).parent / "templates"
_TITLE = ("name", "number", "revision", "date", "drawn_by", "checked_by", "notes")


def html_page(report: Report, units: Units, drawing: str) -> str:
    """The whole report as one HTML page.

    Parameters
    ----------
    drawing
        The sheet as an `svg` element; it is put in as it is, everything else is escaped.
    """
    return _render("report.html", report, units, drawing=Markup(drawing))


def html_parts(report: Report, units: Units) -> tuple[str, str]:
    """The report for pages: what stands before the sheet, and what comes after it.

    The markup keeps to what simple layout engines know.
    """
    return (
        _render("report_front.html", report, units),
        _render("report_body.html", report, units),
    )


def _render(name: str, report: Report, units: Units, **more: Any) -> str:
    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_finalize,
    )
    circuit, instant = report.circuit, report.readings
    return environment.get_template(name).render(
        report=report,
        title={key: circuit.title.get(key, "") for key in _TITLE},
        units=units,
        along=along,
        ports=port_rows(instant, units),
        lines=line_rows(circuit, instant, units),
        quantities=quantity_rows(circuit, instant, units),
        kinds=[str(r.get("kind", "")).replace("_", " ") for r in circuit.requirements],
        unstated=unstated(circuit),
        sheet_checksum=checksum(circuit),
        **more,
    )


def _finalize(value: Any) -> Any:
    """Text of a file on one line and without control characters, which HTML does not know."""
    return one_line(value) if isinstance(value, str) and not isinstance(value, Markup) else value
