"""How a report stands on its pages: what is looked at together stands together."""

from pathlib import Path

import pytest
from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QFontMetricsF, QPdfWriter

from analysis import read_circuit
from analysis.report import make_report
from analysis.report_blocks import Bullets, Heading, Paragraph, SmallList, Table, set_text
from editor.page_breaks import break_pages
from editor.report_items import Setter
from editor.report_lines import Row
from editor.report_pages import set_out
from editor.unit_presets import DisplayUnits

SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_circuits").glob("*.json"))
DOTS = 1200 / 25.4


@pytest.fixture
def writer(qapp):
    """A PDF that nobody reads."""
    buffer = QBuffer(QByteArray())
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    made = QPdfWriter(buffer)
    made.setResolution(1200)
    yield made
    del made


def texts_of(page):
    """The text of each row and paragraph of a page, cells joined."""
    return [
        " | ".join(" ".join(layout.text() for layout, line, _ in lines.lines if line == 0)
                   for _, lines in item.cells)
        for _, item in page.items
        if isinstance(item, Row)
    ]  # fmt: skip


def placed(writer, blocks, height=257.0):
    """The blocks on pages of a height [mm], as the texts of each."""
    setter = Setter(writer, 178.0, DOTS, (), {})
    return break_pages(list(setter.items(blocks)), height * DOTS)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name.split(".")[0])
def test_a_figure_stands_with_its_caption_and_its_ways(writer, path):
    """On the page of the verdict that it shows; no page holds a lone point of a list."""
    circuit = read_circuit(path)
    circuit.procedures = []
    report = make_report(
        circuit, DisplayUnits(circuit), file_name="x", file_checksum="0" * 64, version="1"
    )
    pages = [texts_of(page) for page in set_out(report, writer, "x").body]
    for number, (verdict, picture) in enumerate(
        zip(report.checked.requirements, report.pictures, strict=True), start=1
    ):
        (page,) = [p for p in pages if any(text.startswith(f"R{number}. ") for text in p)]
        at = next(n for n, text in enumerate(page) if text.startswith(f"R{number}. "))
        assert any(verdict.message[:40] in text for text in page[:at])
        ways = page[at + 1 : at + 1 + len(picture.ways)]
        assert all(text.startswith(("Way", "Return", "Other", "Stray")) for text in ways)
        assert len(ways) == len(picture.ways)
    points = [sum(text.startswith("• |") for text in page) for page in pages]
    assert 1 not in points and sum(points) > 3


def test_a_list_that_is_longer_than_its_page_says_what_it_is_again(writer):
    """A heading goes over with the first of it; what goes on does so under its name."""
    lines = tuple(set_text(f"line {number}") for number in range(150))
    blocks = [Heading("R1", level=3), SmallList(lines, "R1, continued:")]
    before = [Paragraph(set_text(f"text {number}")) for number in range(40)]
    first, *rest = placed(writer, [*before, *blocks])
    assert texts_of(first)[-1] == "text 39"
    assert texts_of(rest[0])[0] == "line 0"
    found = [text for page in rest for text in texts_of(page)]
    assert found == [f"line {number}" for number in range(150)]
    heads = [page.items[0][1] for page in rest[1:]]
    assert heads and all(head is rest[1].items[0][1] for head in heads)
    assert not isinstance(heads[0], Row)


def test_a_short_list_of_points_is_not_torn_apart(writer):
    """Seven points that find no room go over together."""
    before = [Paragraph(set_text(f"text {number}")) for number in range(44)]
    points = Bullets(tuple(set_text(f"point {number}") for number in range(7)))
    first, second = placed(writer, [*before, points])
    assert texts_of(first)[-1].startswith("text")
    assert len(texts_of(second)) >= 7


@pytest.mark.parametrize("filled", range(30, 46))
def test_no_heading_stands_at_the_foot_with_no_more_than_words_on_what_follows(writer, filled):
    """A section whose matter begins with a heading of its own goes over with it."""
    before = [Paragraph(set_text(f"text {number}")) for number in range(filled)]
    table = Table(("Setting",), (100,), ((set_text("S0"),), (set_text("S1"),)))
    section = [Heading("10 Readings"), Paragraph(set_text("Gauge pressures.")),
               Heading("Setting by setting", level=3), table]  # fmt: skip
    pages = [texts_of(page) for page in placed(writer, [*before, *section])]
    (at,) = [number for number, texts in enumerate(pages) if "Gauge pressures." in texts]
    assert "S0" in pages[at] and "S1" in pages[at]


def test_the_last_words_of_a_section_do_not_go_over_with_the_next(writer):
    """They stand under a heading, and a greater one comes."""
    blocks = [Heading("Waivers", level=3), Paragraph(set_text("None.")), Heading("6 Questions"),
              Paragraph(set_text("What is open."))]  # fmt: skip
    _, words, _, _ = Setter(writer, 178.0, DOTS, (), {}).items(blocks)
    assert not words.keep


def test_a_dash_in_the_next_column_is_not_read_as_part_of_a_full_cell(writer):
    """Three spaces lie between: `1000 psi to 1050 psi   –` is a range and a dash."""
    row = tuple(set_text(text) for text in ("set pressure 1000 psi to 1050 psi", "–"))
    table = Table(("What is open", "Requirements"), (50, 50), (row,))
    _, found = Setter(writer, 178.0, DOTS, (), {}).items([table])
    (left, full), (beside, _) = found.cells
    layout, number, _ = full.lines[0]
    space = QFontMetricsF(layout.font(), writer).horizontalAdvance(" ")
    assert beside - (left + layout.lineAt(number).width()) >= 3 * space > 0
