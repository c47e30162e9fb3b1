"""Names proposed for files: made of the title, never with an ending twice, never over a file."""

import json
from pathlib import Path

import pytest
from PySide6.QtWidgets import QFileDialog, QMessageBox

from editor.file_names import stem_from_title, with_suffix
from tests.editor.canvas_helpers import open_window
from tests.editor.test_exports import choose
from tests.editor.test_main_window import answer


@pytest.mark.parametrize(
    ("title", "stem"),
    [
        ("Landing gear, left", "landing_gear_left"),
        ("bench.circuit.json", "bench"),
        ("Press / ram: No. 2", "press_ram_no_2"),
        ("Flügelklappen", "flügelklappen"),
        ("../../etc/passwd", "etc_passwd"),
        ("circuit", "untitled"),
        ("  ", "untitled"),
        ("?!", "untitled"),
        ("a" * 300, "a" * 60),
    ],
)
def test_a_title_makes_a_name(title, stem):
    """Letters and digits stay, all else parts them; nothing leads out of the folder."""
    assert stem_from_title(title) == stem


@pytest.mark.parametrize(
    ("given", "saved"),
    [
        ("jack", "jack.circuit.json"),
        ("jack.circuit", "jack.circuit.json"),
        ("jack.circuit.json", "jack.circuit.json"),
        ("Jack.Circuit.JSON", "Jack.Circuit.JSON"),
        ("jack.json", "jack.json"),
        ("jack.v2", "jack.v2.circuit.json"),
    ],
)
def test_the_ending_is_there_once(given, saved):
    """What was typed of it is not written a second time."""
    assert with_suffix(given) == saved


@pytest.mark.parametrize(
    ("title", "stem"), [("Hand-pumped jack", "hand_pumped_jack"), ("", "untitled")]
)
def test_save_and_export_propose_a_name_made_of_the_title(
    qtbot, tmp_path, monkeypatch, title, stem
):
    """As long as there is no file; then they go by the file."""
    hand = open_window(qtbot)
    hand.canvas.start_placing("cylinder")
    hand.click((30, 20))
    if title:
        hand.circuit.set_field("", "title", {"name": title})
    proposed = choose(monkeypatch, "")
    for action in ("Save", "Save As", "Export Drawing", "Export Report"):
        hand.window.menus.named[action].trigger()
    names = [Path(path).name for path in proposed]
    assert names == [f"{stem}.circuit.json"] * 2 + [f"{stem}.pdf", f"{stem}-report.pdf"]
    choose(monkeypatch, tmp_path / "other.circuit")
    hand.window.menus.named["Save"].trigger()
    assert (tmp_path / "other.circuit.json").exists()
    proposed = choose(monkeypatch, "")
    for action in ("Save As", "Export Drawing"):
        hand.window.menus.named[action].trigger()
    assert proposed == [str(tmp_path / "other.circuit.json"), str(tmp_path / "other.pdf")]


def test_a_file_that_the_added_ending_hits_is_not_replaced_unasked(qtbot, tmp_path, monkeypatch):
    """The dialog asked about `jack`; what is there is `jack.circuit.json`."""
    hand = open_window(qtbot)
    hand.canvas.start_placing("cylinder")
    hand.click((30, 20))
    there = tmp_path / "jack.circuit.json"
    there.write_text("mine", encoding="utf-8")
    choose(monkeypatch, tmp_path / "jack")
    asked = answer(monkeypatch, QMessageBox.StandardButton.No)
    assert not hand.window.files.save_as()
    assert there.read_text(encoding="utf-8") == "mine"
    assert asked == ["jack.circuit.json is there already. Replace it?"]
    answer(monkeypatch, QMessageBox.StandardButton.Yes)
    assert hand.window.files.save_as()
    assert json.loads(there.read_text(encoding="utf-8"))["components"]
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(there), ""))
    asked = answer(monkeypatch, QMessageBox.StandardButton.No)
    assert hand.window.files.save_as() and not asked
