"""The canvas shows what the circuit is, at every change, and nothing else."""

from itertools import pairwise
from pathlib import Path

import pytest
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem

from analysis.circuit import Circuit
from analysis.circuit_file import read_circuit
from analysis.sheet import frame_of
from editor import theme
from editor.canvas.lettering import lever_words, words_of
from editor.canvas.line_item import LineStyle, arrow_places
from editor.canvas.overlay import arrow_spacing, rounded_up
from editor.canvas.scene import Scene
from editor.looks import look_of
from editor.painting import picture_of, symbol_pixmap
from editor.selection import Selection
from symbols import KINDS

SAMPLE = Path(__file__).parents[2] / "sample_circuits" / "emergency_pump.circuit.json"


@pytest.fixture
def circuit():
    """A check valve that feeds a cylinder."""
    made = Circuit()
    made.add("check_valve", id="0V1", at=(10, 10))
    made.add("cylinder", id="1A1", at=(40, 10), stroke="100 mm")
    made.connect("0V1.outlet", "1A1.cap")
    return made


@pytest.fixture
def scene(circuit, qapp):
    """Its scene."""
    return Scene(circuit, Selection(circuit))


def test_items_follow_every_kind_of_change(scene, circuit):
    """Added, removed, renamed, moved, replaced: one item for each element, always."""

    def agrees():
        shown = set(scene.components) == set(circuit.components)
        return shown and set(scene.lines) == set(circuit.lines)

    circuit.add("plug", id="0Z9", at=(5, 5))
    assert agrees()
    circuit.rename("0V1", "0V7")
    assert agrees() and scene.components["0V7"].identifier == "0V7"
    circuit.set_field("0V7", "at", (12, 14))
    item = scene.components["0V7"]
    assert (item.pos().x(), item.pos().y()) == (12 * theme.MODULE, 14 * theme.MODULE)
    assert scene.lines["L1"].points[0] == (16, 14)
    circuit.remove("1A1")
    assert agrees() and not scene.lines
    circuit.replace_with(read_circuit(SAMPLE))
    assert agrees() and len(scene.components) > 45


def test_line_shows_its_new_ends(scene, circuit):
    """An end that is set to another port is drawn there."""
    circuit.set_field("L1", "end", "1A1.rod")
    assert scene.lines["L1"].points[-1] == scene.port_at("1A1.rod")


def test_extension_moves_the_piston(scene, circuit):
    """The picture depends on the state."""
    before = scene.components["1A1"].picture
    circuit.set_value("1A1", "extension", "80 mm", state=True)
    assert scene.components["1A1"].picture is not before
    assert scene.components["1A1"].picture.bounds.right() > before.bounds.right()


def test_dots_stand_where_lines_meet_at_a_port(scene, circuit):
    """Two lines at one port: one dot; none for a single line."""
    assert scene._dots.places() == set()
    circuit.add("pressure_gauge", id="0S1", at=(20, 2))
    circuit.connect("0S1.A", "0V1.outlet")
    assert scene._dots.places() == {scene.port_at("0V1.outlet")}
    circuit.remove("L2")
    assert scene._dots.places() == set()


def test_pilot_and_drain_lines_are_dashed(scene, circuit):
    """ISO 1219-1: pilot lines long-dashed, drain lines short-dashed, others continuous."""
    dashes = {}
    for role in ("pressure", "return", "suction", "pilot", "drain"):
        circuit.set_field("L1", "role", role)
        dashes[role] = theme.DASHES[scene.lines["L1"].style.dash]
    assert dashes["pressure"] == dashes["return"] == dashes["suction"] == ()
    assert dashes["pilot"][0] > dashes["drain"][0] > 0


def test_part_without_a_place_is_laid_out(qapp):
    """A file may leave places out; the parts must not lie on one another."""
    circuit = Circuit()
    for _ in range(4):
        circuit.add("hand_pump")
    scene = Scene(circuit, Selection(circuit))
    spots = {(i.pos().x(), i.pos().y()) for i in scene.components.values()}
    assert len(spots) == 4


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
@pytest.mark.parametrize("mirror", [False, True])
def test_lettering_is_never_turned_or_mirrored(turn, mirror):
    """The port letters of a turned valve are painted upright, each at its own port."""
    kind = KINDS["valve_4_3"]
    plain = {text.text for text in picture_of(kind, kind.look()).texts}
    placed = picture_of(kind, kind.look(), turn, mirror)
    assert {text.text for text in placed.texts} == plain == {"P", "T", "A", "B"}


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
@pytest.mark.parametrize("mirror", [False, True])
def test_words_of_the_lever_stand_nearest_to_their_box(turn, mirror, qapp):
    """Whichever way the valve is turned; the one that holds is bold."""
    circuit = Circuit()
    valve = circuit.add("valve_4_3", id="1V1", at=(0, 0), turn=turn, mirror=mirror, position="left")
    circuit.set_field("1V1", "labels", {"left": "DOWN", "centre": "HOLD", "right": "UP"})
    words = {w.text: w for w in lever_words(valve, look_of(circuit, valve))}
    assert set(words) == {"DOWN", "HOLD", "UP"}
    assert [w.text for w in words.values() if w.bold] == ["DOWN"]
    along = 0 if turn in (0, 180) else 1
    sign = (-1 if turn in (180, 270) else 1) * (-1 if mirror and turn in (0, 180) else 1)
    if mirror and turn in (90, 270):
        sign = -sign
    middles = {t: (w.area().center().x(), w.area().center().y())[along] for t, w in words.items()}
    assert sign * middles["DOWN"] < sign * middles["UP"]


def test_fault_is_written_at_the_part(qapp):
    """Nobody should overlook a fault that is set."""
    circuit = Circuit()
    pump = circuit.add("fixed_pump", id="0P1", at=(0, 0), fault="no_output")
    look = look_of(circuit, pump)
    texts = [w.text for w in words_of(pump, look, picture_of(pump.declared, look).bounds)]
    assert "NO OUTPUT" in texts


def test_no_item_is_cached(scene):
    """A cached item is a bitmap in a PDF."""
    modes = {item.cacheMode() for item in scene.items()}
    assert modes == {QGraphicsItem.CacheMode.NoCache}


@pytest.mark.parametrize("kind", KINDS)
def test_every_symbol_leaves_ink_on_the_shelf(kind, qapp):
    """No empty picture."""
    image = symbol_pixmap(kind, 48).toImage()
    inked = sum(
        image.pixelColor(x, y).alpha() > 100
        for x in range(image.width())
        for y in range(image.height())
    )
    assert inked > 8


def test_ramp_gets_darker_all_the_way():
    """Lightness alone tells pressures apart, for people who see no colours."""

    def lightness(colour: QColor) -> float:
        # relative luminance, ITU-R BT.709 (from memory); linear light is monotone in it
        return 0.2126 * colour.redF() + 0.7152 * colour.greenF() + 0.0722 * colour.blueF()

    values = [lightness(theme.pressure_colour(i / 20)) for i in range(21)]
    assert all(a > b for a, b in pairwise(values))
    assert values[0] - values[-1] > 0.5


def test_arrowheads_lie_on_the_way_and_point_along_it():
    """A way with one corner: heads before it point right, heads after it down."""
    heads = arrow_places([(0, 0), (20, 0), (20, 20)], 5.0, 1.0)
    assert len(heads) >= 6
    for (x, y), way in heads:
        assert (way, y) == ((1, 0), 0) or (way, x) == ((0, 1), 20)


def test_arrowheads_are_nearer_where_the_flow_is_faster():
    """Spacing falls with velocity, whichever its sign; no flow, no head."""
    assert arrow_spacing(0.0) == 0.0
    assert arrow_spacing(0.3) > arrow_spacing(1.0) > arrow_spacing(4.0) > 0
    assert arrow_spacing(-1.0) == arrow_spacing(1.0)


@pytest.mark.parametrize(("value", "top"), [(1340, 1500), (80, 80), (0.071, 0.08), (99.9, 100)])
def test_scale_ends_at_a_round_number(value, top):
    """Never below the highest pressure."""
    assert rounded_up(value) == pytest.approx(top)


def test_hollow_line_is_light_in_the_middle(scene, circuit):
    """Undetermined: two thin lines with paper between them, at any zoom."""
    item = scene.lines["L1"]
    item.set_style(LineStyle(theme.UNDETERMINED.name(), 1.0, hollow=True))
    image = QImage(400, 400, QImage.Format.Format_RGB32)
    image.fill(theme.PAPER)
    (x0, y0), (x1, y1) = item.points[0], item.points[1]
    painter = QPainter(image)
    painter.translate(200, 200)
    painter.scale(2, 2)
    middle = (x0 + x1) / 2 * theme.MODULE, (y0 + y1) / 2 * theme.MODULE
    painter.translate(-middle[0], -middle[1])
    item.paint(painter, QStyleOptionGraphicsItem())
    painter.end()
    assert image.pixelColor(200, 200) == theme.PAPER
    assert image.pixelColor(200, 208) == theme.UNDETERMINED


@pytest.mark.parametrize("path", sorted(SAMPLE.parent.glob("*.json")), ids=lambda p: p.name[:9])
def test_no_name_of_a_sample_leaves_the_sheet(qapp, path):
    """A name at the right edge goes to another side of its symbol."""
    circuit = read_circuit(path)
    right = frame_of(str(circuit.sheet["size"])).right * theme.MILLIMETRE
    scene = Scene(circuit, Selection(circuit))
    beyond = [
        item.identifier
        for item in scene.components.values()
        if item.sceneBoundingRect().right() > right
    ]
    assert not beyond
