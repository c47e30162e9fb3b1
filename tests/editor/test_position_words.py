"""The word for where a shut-off valve stands: below its name, on the canvas as on paper."""

from PySide6.QtCore import QRectF

from analysis.circuit import Circuit
from editor.canvas.lettering import lever_words, words_of
from editor.canvas.name_places import NamePlaces
from symbols.kind import Look

BOUNDS = QRectF(-12, -20, 24, 40)


def _look(position):
    return Look(choices={"position": position})


def test_the_word_stands_below_the_name_and_changes_with_the_lever():
    """It keeps its place when the valve is worked; nothing lies over the symbol."""
    circuit = Circuit()
    valve = circuit.add("shutoff_valve", id="0V8", name="Release valve", at=(0, 0), turn=90)
    circuit.set_field("0V8", "labels", {"open": "RELEASE", "closed": "SHUT"})
    places = NamePlaces()
    places.look_for_places([(valve, _look("closed"), (0, 0), BOUNDS)], {})
    shut = places.words(valve, _look("closed"), BOUNDS)
    worked = places.words(valve, _look("open"), BOUNDS)
    assert [words.text for words in shut][-1] == "SHUT"
    assert [words.text for words in worked][-1] == "RELEASE"
    assert [words.at for words in shut] == [words.at for words in worked]
    assert shut[-1].at[1] > shut[0].at[1]
    assert not any(words.area().intersects(BOUNDS) for words in shut)
    assert lever_words(valve, _look("closed")) == []


def test_without_a_place_of_its_own_it_stands_there_too():
    """As after the valve was turned; without labels there is no word."""
    circuit = Circuit()
    valve = circuit.add("shutoff_valve", id="0V8", at=(0, 0))
    assert [w.text for w in words_of(valve, _look("closed"), BOUNDS)] == ["0V8"]
    circuit.set_field("0V8", "labels", {"open": "RELEASE", "closed": "SHUT"})
    assert [w.text for w in words_of(valve, _look("closed"), BOUNDS)] == ["0V8", "SHUT"]
