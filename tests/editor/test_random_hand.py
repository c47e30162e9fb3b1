"""Whatever a hand does: no fault, the sheet shows the circuit, undo and files keep every byte."""

import random
from pathlib import Path

import pytest

from analysis.circuit_file import circuit_text, parse_circuit
from tests.editor.canvas_helpers import open_window
from tests.editor.random_hand import RandomHand

SAMPLE = Path(__file__).parents[2] / "sample_circuits" / "hand_pumped_gear.circuit.json"


def work(qtbot, seed, steps, path=None):
    """So many things done at random, looked at after each; a fault shows what was done last."""
    window = open_window(qtbot).window
    if path is not None:
        window.files.open(str(path))
    before = circuit_text(window.document.circuit)
    hand = RandomHand(window, random.Random(seed))
    for _ in range(steps):
        try:
            hand.act()
            check_shown(hand)
        except Exception as error:
            pytest.fail(f"after {hand.done[-15:]}: {type(error).__name__}: {error}")
    window.canvas.pointer.cancel()
    check_history(hand, before)


def check_shown(hand):
    """Items and selection are those of the circuit; lines end at their ports; it can be saved."""
    circuit, sheet = hand.circuit, hand.canvas.sheet
    assert set(sheet.components) == set(circuit.components)
    assert set(sheet.lines) == set(circuit.lines)
    assert all(identifier in circuit for identifier in hand.window.selection.ids())
    if hand.canvas.pointer.gesture is None:
        for line in circuit.lines.values():
            points = sheet.lines[line.id].points
            ends = [tuple(points[0]), tuple(points[-1])] if points else []
            assert ends in ([], [sheet.port_at(line.start), sheet.port_at(line.end)]), line.id
    text = circuit_text(circuit)
    assert circuit_text(parse_circuit(text)) == text


def check_history(hand, before):
    """All undone: the text before; all redone: the text after; byte for byte."""
    after, index = circuit_text(hand.circuit), hand.stack.index()
    hand.stack.setIndex(0)
    assert circuit_text(hand.circuit) == before
    hand.stack.setIndex(index)
    assert circuit_text(hand.circuit) == after
    hand.stack.setIndex(0)
    check_shown(hand)


@pytest.mark.parametrize("seed", range(3))
def test_anything_done_on_an_empty_sheet(qtbot, seed):
    """From nothing."""
    work(qtbot, seed, 150)


def test_anything_done_to_a_sample(qtbot):
    """With requirements, procedures and evidence that refer to its parts."""
    work(qtbot, 7, 100, SAMPLE)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(100, 120))
def test_anything_done_for_long(qtbot, seed):
    """Every other time to a sample."""
    work(qtbot, seed, 500, SAMPLE if seed % 2 else None)
