"""The drawn sheet: paper, frame, references, title block, and where the circuit goes on it.

ISO 216 (paper), ISO 5457 (frame, fields, centring marks) and ISO 7200 (title block): sizes from
memory, as the numbers beside the checks say.
"""

import pytest

from analysis.circuit import Circuit
from analysis.circuit_file import circuit_text
from analysis.joints import find_joints
from analysis.sheet import MODULE, SHEETS, block_of, compose, frame_of
from analysis.sheet_texts import Box, checksum, wrapped_notes


def circuit_with(**title):
    """A circuit with a component that has its place, and a title block."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1", at=(40, 40))
    circuit.title = title
    return circuit


SMALL = [Box(36, 30, 44, 46)]


@pytest.mark.parametrize("size", SHEETS)
def test_each_sheet_is_half_of_the_next(size):
    """ISO 216: A0 is 1 m2 of the shape 1 to sqrt 2, and halving rounds down to millimetres."""
    width, height = SHEETS[size]
    number = int(size[1])
    assert width / height == pytest.approx(2**0.5, rel=0.01)
    assert width * height == pytest.approx(1e6 / 2**number, rel=0.01)
    if number:
        larger = SHEETS[f"A{number - 1}"]
        assert width == larger[1]
        assert height == larger[0] // 2


@pytest.mark.parametrize("size", SHEETS)
def test_the_frame_leaves_the_margins_of_the_standard(size):
    """ISO 5457 clause 3.2 (from memory): 20 mm on the left for filing, 10 mm elsewhere."""
    width, height = SHEETS[size]
    frame = frame_of(size)
    assert (frame.left, frame.top) == (20, 10)
    assert (width - frame.right, height - frame.bottom) == (10, 10)


@pytest.mark.parametrize(
    ("size", "columns", "rows"),
    [("A4", 6, 4), ("A3", 8, 6), ("A2", 12, 8), ("A1", 16, 12), ("A0", 24, 16)],
)
def test_reference_fields_are_as_many_as_the_standard_has(size, columns, rows):
    """ISO 5457 table 2 (from memory); letters run without I and O."""
    circuit = circuit_with()
    circuit.sheet = {"size": size}
    sheet = compose(circuit, SMALL)
    frame = frame_of(size)
    outside = [x for x in sheet.labels if not (frame.left < x.at[0] < frame.right)]
    letters = {label.text for label in outside}
    numbers = {x.text for x in sheet.labels if not frame.top < x.at[1] < frame.bottom}
    assert numbers == {str(n) for n in range(1, columns + 1)}
    assert len(letters) == rows
    assert not letters & {"I", "O"}


def test_the_title_block_has_the_fields_of_the_standard():
    """ISO 7200 (from memory): 180 mm wide, in the corner of the frame, with these fields."""
    circuit = circuit_with(
        name="Bench press",
        number="WS-1",
        revision="C",
        drawn_by="Ann",
        checked_by="Ben",
        date="2024-02-29",
    )
    circuit.fluid = {"kind": "ISO VG 32"}
    sheet = compose(circuit, SMALL)
    block = block_of("A3")
    assert block.width == 180
    assert (block.right, block.bottom) == (frame_of("A3").right, frame_of("A3").bottom)
    inside = [x for x in sheet.labels if x.at[0] > block.left and x.at[1] > block.top]
    texts = {label.text for label in inside}
    assert texts >= {"Bench press", "WS-1", "C", "Ann", "Ben", "2024-02-29", "A3", "1/1"}
    assert texts >= {"Title", "Identification number", "Revision", "Created by", "Approved by"}
    assert texts >= {"Date of issue", "Document type", "ISO VG 32", "2.5 mm"}
    assert any("Not for release to service" in text for text in texts)
    assert checksum(circuit)[:16] in texts


def test_the_checksum_is_that_of_the_file():
    """Another person can compare it with `sha256sum` of the saved file."""
    from hashlib import sha256

    circuit = circuit_with(name="x")
    before = checksum(circuit)
    assert before == sha256(circuit_text(circuit).encode()).hexdigest()
    circuit.set_value("0Z1", "capacity", "9 L")
    assert checksum(circuit) != before


# -- where the circuit goes --------------------------------------------------------------


def placed(sheet, part):
    """Where a part of the drawing lies on paper [mm]."""
    return part.moved(sheet.module, *sheet.origin)


def check_clear(sheet, drawn):
    """All inside the frame and clear of the title block and of the notes."""
    frame, block = frame_of(sheet.size), block_of(sheet.size)
    for part in drawn:
        there = placed(sheet, part)
        assert frame.grown(0.001).holds(there)
        assert not there.meets(block)
        for label in sheet.labels:
            x, y = label.at
            assert not there.meets(Box(x, y - 1, x + 1, y + 1))


def test_a_circuit_with_room_stays_where_it_was_put():
    """What the user arranged on the paper is printed there."""
    sheet = compose(circuit_with(), SMALL)
    assert (sheet.size, sheet.module, sheet.origin) == ("A3", MODULE, (0.0, 0.0))
    check_clear(sheet, SMALL)


@pytest.mark.parametrize(
    "part",
    [Box(-30, -20, 10, 10), Box(120, 90, 150, 110), Box(150, 50, 175, 60), Box(10, 100, 40, 114)],
    ids=["above the frame", "on the title block", "beyond the frame", "on the notes"],
)
def test_a_circuit_in_the_way_is_shifted_by_whole_modules(part):
    """It keeps its size and the grid of the paper."""
    circuit = circuit_with(notes="word " * 60)
    circuit.sheet = {"size": "A3"}
    sheet = compose(circuit, [part])
    assert sheet.module == MODULE
    assert [c / MODULE % 1 for c in sheet.origin] == [0, 0]
    check_clear(sheet, [part])


def test_a_circuit_too_large_for_its_sheet_is_drawn_smaller_and_says_so():
    """The title block tells the module."""
    circuit = circuit_with()
    circuit.sheet = {"size": "A4"}
    drawn = [Box(0, 0, 5, 5), Box(200, 100, 210, 110)]
    sheet = compose(circuit, drawn)
    assert 0 < sheet.module < MODULE
    check_clear(sheet, drawn)
    assert f"{sheet.module:.3g} mm" in {label.text for label in sheet.labels}


@pytest.mark.parametrize(("extent", "size"), [(100, "A3"), (160, "A2"), (300, "A1"), (430, "A0")])
def test_without_a_size_the_smallest_sheet_with_room_is_taken(extent, size):
    """From A3 up, at full size."""
    drawn = [Box(0, 0, extent, 60)]
    sheet = compose(circuit_with(), drawn)
    assert (sheet.size, sheet.module) == (size, MODULE)
    check_clear(sheet, drawn)


def test_a_circuit_that_nobody_placed_is_set_in_the_middle():
    """Left and right of it the same is left free, to a module."""
    circuit = Circuit()
    circuit.add("plug", id="0Z1")
    sheet = compose(circuit, SMALL)
    there, frame = placed(sheet, SMALL[0]), frame_of("A3")
    assert there.left - frame.left == pytest.approx(frame.right - there.right, abs=2 * MODULE)


def test_notes_keep_clear_of_the_circuit():
    """A free place is looked for; here all but the upper right corner is taken."""
    drawn = [Box(10, 8, 86, 112), Box(90, 60, 160, 95)]
    sheet = compose(circuit_with(notes="Pump with the release valve shut. " * 8), drawn)
    assert sheet.module == MODULE
    check_clear(sheet, drawn)
    heading = next(label for label in sheet.labels if label.text == "Notes")
    assert heading.at[0] > 90 * MODULE
    assert heading.at[1] < 60 * MODULE


def test_notes_that_are_too_long_say_that_more_stands_in_the_file():
    """Nothing is left out in silence."""
    box = Box(20, 254, 120, 287)
    few = wrapped_notes("A few words.", box)
    assert [label.text for label in few] == ["Notes", "A few words."]
    many = wrapped_notes("word " * 2000, box)
    assert many[-1].text == "… (the rest stands in the circuit file)"
    assert all(box.top < label.at[1] < box.bottom for label in [*few, *many])


# -- joints --------------------------------------------------------------------------------


def test_lines_that_meet_at_a_port_carry_a_dot_and_others_do_not():
    """ISO 1219-1: joined lines carry a dot; one line at a port is no joint."""
    circuit = Circuit()
    for number, at in enumerate([(0, 0), (10, 0), (0, 10)], start=1):
        circuit.add("plug", id=f"0Z{number}", at=at)
    circuit.add("junction", id="0Z9", at=(20, 20))
    circuit.connect("0Z1.A", "0Z2.A")
    assert find_joints(circuit) == []
    circuit.connect("0Z1.A", "0Z3.A")
    port = circuit.components["0Z1"].declared.port("A").at
    assert find_joints(circuit) == [port]
    assert find_joints(circuit, {"0Z1": (100, 50)}) == [(100 + port[0], 50 + port[1])]
    # a junction is drawn as a dot already
    circuit.connect("0Z9.A", "0Z2.A")
    circuit.connect("0Z9.A", "0Z3.A")
    assert len(find_joints(circuit)) == 3
