"""The sheet as PDF, SVG and PNG: what is on it, how large it is, and that it can be read.

Points per inch 72 and mm per inch 25.4 are exact; line types are those of ISO 1219-1 as the
project's design has them: working lines continuous, pilot lines long-dashed, drains short-dashed.
"""

import re
import xml.etree.ElementTree as ElementTree
from itertools import combinations
from pathlib import Path

import pytest
from PySide6.QtGui import QImage

from analysis.circuit import Circuit
from analysis.circuit_file import read_circuit
from analysis.errors import CircuitError
from editor import sheet_export, theme
from editor.sheet_drawing import draw_sheet
from editor.sheet_export import sheet_bytes
from editor.sheet_lettering import pieces
from symbols import KINDS
from tests.support.random_circuits import random_circuit

SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_circuits").glob("*.json"))


def press():
    """A small circuit with a line of each type."""
    circuit = Circuit()
    circuit.title = {"name": "Press <1> & more", "number": "WS-1", "date": "2024-02-29"}
    circuit.sheet = {"size": "A3"}
    circuit.add("reservoir", id="0Z1", name="Tank", at=(40, 80))
    circuit.add("sequence_valve", id="0V1", name="Clamp first", at=(60, 50))
    circuit.add("pilot_check_valve", id="0V2", at=(90, 50))
    circuit.connect("0V1.outlet", "0V2.inlet", id="L1")
    circuit.connect("0V1.drain", "0Z1.return", id="L2", role="drain")
    circuit.connect("0V2.pilot", "0V1.inlet", id="L3", role="pilot")
    return circuit


def svg(circuit):
    """The parsed SVG."""
    return ElementTree.fromstring(sheet_bytes(circuit, "svg"))


def words(circuit):
    """All lettering of the SVG."""
    found = ["".join(node.itertext()).strip() for node in svg(circuit).iter() if "text" in node.tag]
    return [text for text in found if text]


def test_the_svg_has_the_size_of_the_paper_and_names_everything(qapp):
    """420 x 297 mm; ids, names, title and cautions are text that can be searched."""
    tree = svg(press())
    assert tree.get("width") == "420mm"
    assert tree.get("height") == "297mm"
    found = " ".join(words(press()))
    for expected in ("0Z1", "Tank", "0V1", "Clamp first", "0V2", "L1", "Press <1> & more", "WS-1"):
        assert expected in found
    assert "Not for release to service" in found


def test_lines_are_dashed_by_their_role(qapp):
    """A working line is continuous; a pilot line has longer dashes than a drain."""

    def dashes(role):
        circuit = Circuit()
        circuit.add("plug", id="0Z1", at=(40, 40))
        circuit.add("plug", id="0Z2", at=(80, 40))
        circuit.connect("0Z1.A", "0Z2.A", role=role)
        return {
            float(node.get("stroke-dasharray").split(",")[0])
            for node in svg(circuit).iter()
            if node.get("stroke-dasharray") not in (None, "none")
        }

    assert dashes("pressure") == dashes("return") == dashes("suction") == set()
    (pilot,), (drain,) = dashes("pilot"), dashes("drain")
    assert pilot > 1.5 * drain > 0


def test_the_pdf_is_one_page_of_the_size_of_the_paper_with_its_font(qapp):
    """A3 lying is 420 x 297 mm, 1190.55 x 841.89 points; text is text, not outlines."""
    data = sheet_bytes(press(), "pdf")
    assert data.startswith(b"%PDF-")
    assert len(re.findall(rb"/Type\s*/Page\b", data)) == 1
    (box,) = re.findall(rb"/MediaBox\s*\[([^\]]*)\]", data)
    assert [float(c) for c in box.split()] == pytest.approx(
        [0, 0, 420 / 25.4 * 72, 297 / 25.4 * 72], abs=1
    )
    assert b"/FontFile2" in data
    assert b"/Subtype /Image" not in data


def test_the_pdf_carries_the_date_of_the_circuit_and_not_of_the_run(qapp):
    """The date in the title block, and a fixed one where there is none."""
    assert set(re.findall(rb"\(D:(\d{8})", sheet_bytes(press(), "pdf"))) == {b"20240229"}
    circuit = press()
    circuit.set_field("", "title", {"date": "next week"})
    assert set(re.findall(rb"\(D:(\d{8})", sheet_bytes(circuit, "pdf"))) == {b"20000101"}


def test_the_png_is_the_paper_at_300_dots_per_inch(qapp):
    """Its size in mm is that of the paper, and there is ink on it."""
    image = QImage.fromData(sheet_bytes(press(), "png"))
    assert image.width() / image.dotsPerMeterX() * 1000 == pytest.approx(420, abs=0.2)
    assert image.height() / image.dotsPerMeterY() * 1000 == pytest.approx(297, abs=0.2)
    assert image.dotsPerMeterX() * 0.0254 == pytest.approx(300, abs=0.1)
    assert image.pixelColor(5, 5).lightness() == 255
    # the frame, 20 mm from the left
    assert image.pixelColor(round(20 / 25.4 * 300), image.height() // 3).lightness() < 80


def test_the_largest_sheet_still_fits_into_memory(qapp):
    """A0 is drawn with fewer dots, and keeps its size."""
    circuit = press()
    circuit.set_field("", "sheet", {"size": "A0"})
    image = QImage.fromData(sheet_bytes(circuit, "png"))
    assert image.width() / image.dotsPerMeterX() * 1000 == pytest.approx(1189, abs=0.5)
    assert image.width() * image.height() <= 40_000_000


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name)
def test_samples_are_drawn_at_full_size_with_every_part_named(qapp, path):
    """Nothing is shrunk, and all ids of parts can be found; names do not lie on each other."""
    circuit = read_circuit(path)
    drawing = draw_sheet(circuit)
    assert drawing.sheet.module == 2.5
    assert drawing.sheet.origin == (0.0, 0.0)
    found = set(words(circuit))
    assert {c.id for c in circuit.components.values() if c.kind != "junction"} <= found
    areas = [w.area().translated(s.at) for s in drawing.symbols for w in s.words]
    areas += [w.area() for w in drawing.line_ids]
    assert not [
        (a, b)
        for a, b in combinations(areas, 2)
        if a.adjusted(6, 6, -6, -6).intersects(b.adjusted(6, 6, -6, -6))
    ]


def test_every_kind_is_drawn_whichever_way_it_is_turned(qapp):
    """All kinds on one sheet, laid out automatically, turned and mirrored."""
    circuit = Circuit()
    for number, kind in enumerate(KINDS):
        circuit.add(kind, id=f"K{number}", turn=90 * (number % 4), mirror=number % 2 == 1)
    found = set(words(circuit))
    assert {c.id for c in circuit.components.values() if c.kind != "junction"} <= found


@pytest.mark.parametrize("seed", range(8))
def test_random_circuits_are_drawn(qapp, seed):
    """Any faults, levers and lines, without any place; the empty circuit too."""
    assert sheet_bytes(random_circuit(seed, most=25), "pdf").startswith(b"%PDF-")
    assert sheet_bytes(Circuit(), "pdf").startswith(b"%PDF-")


def test_faults_are_written_on_the_sheet(qapp):
    """A drawing of a broken circuit says that it is broken."""
    circuit = press()
    circuit.set_value("L1", "fault", "ruptured", state=True)
    circuit.set_value("0V1", "fault", "stuck_open", state=True)
    found = words(circuit)
    assert "RUPTURED" in found
    assert "STUCK OPEN" in found


def test_without_a_font_there_is_an_error_and_no_empty_sheet(qapp, monkeypatch):
    """Qt would draw boxes, and leave all text out of a PDF."""

    class Boxes:
        def __init__(self, _font):
            pass

        def horizontalAdvance(self, text):
            return 8 * len(text)

    monkeypatch.setattr(sheet_export, "QFontMetricsF", Boxes)
    with pytest.raises(CircuitError, match="fonts-dejavu-core"):
        sheet_bytes(press(), "pdf")


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name.partition(".")[0])
def test_no_name_of_a_sample_lies_on_a_line_or_on_a_symbol(qapp, path):
    """A line that is broken by a name reads as two lines; the samples are drawn to be read."""
    drawing = draw_sheet(read_circuit(path))
    assert drawing.gaps == []
    covered = [
        (symbol.identifier, words.text, other.identifier)
        for symbol in drawing.symbols
        for words in symbol.words
        for other in drawing.symbols
        if other is not symbol
        and words.area().translated(symbol.at).intersects(other.picture.bounds.translated(other.at))
    ]
    assert not covered


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name.partition(".")[0])
def test_names_of_two_symbols_in_one_line_do_not_read_as_one(qapp, path):
    """Between them there is more than a space: 2 mm on paper at least."""
    drawing = draw_sheet(read_circuit(path))
    named = [
        (symbol.identifier, words.text, words.area().translated(symbol.at))
        for symbol in drawing.symbols
        for words in symbol.words
    ]
    near = []
    for (first, text, area), (second, other_text, other) in combinations(named, 2):
        level = min(area.bottom(), other.bottom()) - max(area.top(), other.top())
        gap = max(area.left(), other.left()) - min(area.right(), other.right())
        if first != second and level > area.height() / 3 and gap < 2 * theme.MILLIMETRE:
            near.append((first, text, second, other_text))
    assert not near


def test_the_word_of_a_broken_line_hides_no_symbol_and_no_name(qapp):
    """Whichever line of a crowded sheet breaks, between two symbols that stand close too."""
    circuit = read_circuit(SAMPLES[3])
    hidden = []
    for identifier in circuit.lines:
        circuit.set_value(identifier, "fault", "ruptured", state=True)
        drawing = draw_sheet(circuit)
        line = next(line for line in drawing.lines if line.fault)
        word = line.fault_area()
        covered = [s.picture.bounds.translated(s.at) for s in drawing.symbols]
        covered += [w.area().translated(s.at) for s in drawing.symbols for w in s.words]
        if any(word.intersects(area) for area in covered):
            hidden.append(identifier)
        circuit.set_value(identifier, "fault", "none", state=True)
    assert not hidden


def test_the_word_of_a_broken_line_can_be_read_where_it_lies_on_another(qapp):
    """Where there is no free place, the other line is broken by it, as by a name."""
    circuit = read_circuit(SAMPLES[3])
    on_lines = 0
    for identifier in list(circuit.lines):
        circuit.set_value(identifier, "fault", "external_leak", state=True)
        drawing = draw_sheet(circuit)
        line = next(line for line in drawing.lines if line.fault)
        word = line.fault_area()
        others = [item for item in drawing.lines if item is not line]
        if any(piece.intersects(word) for item in others for piece in pieces(item.points)):
            on_lines += 1
            assert any(gap.intersects(word) for gap in drawing.gaps), identifier
        circuit.set_value(identifier, "fault", "none", state=True)
    assert 0 < on_lines <= 5


def test_the_words_of_a_fault_keep_off_lines_as_the_name_does(qapp):
    """Between a relief valve and the line beside it there is room for narrow words only."""
    (emergency,) = [path for path in SAMPLES if path.name.startswith("emergency")]
    circuit = read_circuit(emergency)
    circuit.set_value("0V2", "fault", "stuck_closed", state=True)
    drawing = draw_sheet(circuit)
    (symbol,) = [s for s in drawing.symbols if s.identifier == "0V2"]
    assert [w.text for w in symbol.words][-2:] == ["STUCK", "CLOSED"]
    assert drawing.gaps == []
