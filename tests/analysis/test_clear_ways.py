"""Lines are led round symbols that they do not touch, and beside lines of other nodes."""

from itertools import pairwise

import pytest

from analysis.circuit import Circuit
from analysis.clear_ways import Ground, corners_of, ground_of, lead_lines
from analysis.layout import lay_out, symbol_box
from analysis.routing import End, route
from tests.support.random_circuits import random_circuit


def runs_through(way, box):
    """Whether a way has a piece inside a box."""
    left, top, right, bottom = box
    return any(
        min(a[0], b[0]) < right
        and max(a[0], b[0]) > left
        and min(a[1], b[1]) < bottom
        and max(a[1], b[1]) > top
        for a, b in pairwise(way)
    )


def pieces(way):
    """The unit pieces of a way, the same whichever way they are gone."""
    found = set()
    for (x0, y0), (x1, y1) in pairwise(way):
        steps = int(abs(x1 - x0) + abs(y1 - y0))
        dx, dy = (x1 - x0) / steps, (y1 - y0) / steps
        points = [(x0 + dx * n, y0 + dy * n) for n in range(steps + 1)]
        found |= {frozenset(pair) for pair in pairwise(points)}
    return found


def in_a_row():
    """A pump that is to feed a gauge, with a filter in the way."""
    circuit = Circuit()
    circuit.add("check_valve", id="0V1", at=(0, 0))
    circuit.add("filter", id="0Z1", at=(20, 0))
    circuit.add("flow_meter", id="0S1", at=(40, 0))
    return circuit, circuit.connect("0V1.outlet", "0S1.A")


def places_of(circuit):
    """Where every component stands."""
    return {c.id: c.at for c in circuit.components.values()}


def test_line_is_led_round_a_symbol_in_its_way():
    """The straight way would run through the filter; the ends stay where the ports are."""
    circuit, line = in_a_row()
    box = symbol_box(circuit.components["0Z1"], (20, 0))
    assert runs_through(route(circuit, line), box)
    way = lead_lines(circuit, places_of(circuit))[line.id]
    assert not runs_through(way, box)
    assert (way[0], way[-1]) == (route(circuit, line)[0], route(circuit, line)[-1])
    assert all((a[0] == b[0]) != (a[1] == b[1]) for a, b in pairwise(way))


def test_clear_line_and_corners_of_the_user_stay():
    """Only what is not clear is led anew, and nothing that someone drew."""
    circuit, line = in_a_row()
    line.via = [(8, 0), (20, 0)]
    assert lead_lines(circuit, places_of(circuit))[line.id] == route(circuit, line)
    line.via = []
    circuit.components["0Z1"].at = (20, 20)
    assert lead_lines(circuit, places_of(circuit))[line.id] == route(circuit, line)


def test_lines_of_two_ports_do_not_lie_upon_each_other():
    """A and B of a valve to two cylinders: drawn in one lane they would read as one line."""
    circuit = Circuit()
    circuit.add("valve_4_3", id="0V1", at=(30, 30))
    for number, x in ((1, 20), (2, 40)):
        circuit.add("cylinder", id=f"1A{number}", at=(x, 8))
    for port, end in (("A", "cap"), ("B", "rod")):
        for number in (1, 2):
            circuit.connect(f"0V1.{port}", f"1A{number}.{end}")
    plain = [pieces(route(circuit, line)) for line in circuit.lines.values()]
    assert (plain[0] | plain[1]) & (plain[2] | plain[3])
    ways = [pieces(way) for way in lead_lines(circuit, places_of(circuit)).values()]
    assert not (ways[0] | ways[1]) & (ways[2] | ways[3])


@pytest.mark.parametrize("seed", range(6))
def test_no_line_of_a_circuit_laid_out_by_itself_runs_through_a_foreign_symbol(seed):
    """Whatever the circuit: the symbols stand apart, and there is room between them."""
    circuit = random_circuit(seed, most=30)
    for component in circuit.components.values():
        component.at = None
    places = lay_out(circuit)
    boxes = {c.id: symbol_box(c, places[c.id]) for c in circuit.components.values()}
    for identifier, way in lead_lines(circuit, places).items():
        line = circuit.lines[identifier]
        own = {port.rpartition(".")[0] for port in (line.start, line.end)}
        through = [i for i, box in boxes.items() if i not in own and runs_through(way, box)]
        assert not through, (identifier, way, through)


def test_same_circuit_gives_the_same_ways():
    """Exports of one circuit are the same bytes, so its lines run the same."""
    circuit = random_circuit(7)
    for component in circuit.components.values():
        component.at = None
    places = lay_out(circuit)
    assert lead_lines(circuit, places) == lead_lines(circuit, places)


def test_walled_in_port_has_no_way():
    """Where there is no way at all, none is invented."""
    _circuit, line = in_a_row()
    ground = Ground({"wall": (2, -40, 60, 40)})
    assert ground.find_way(line, End((0, 0), "right"), End((50, 0), "left")) is None
    assert corners_of(None) == []


@pytest.mark.parametrize("facing", ["left", "right", "up", "down"])
def test_way_leaves_and_arrives_as_the_ports_face(facing):
    """The first piece goes out of the one port, the last one into the other."""
    circuit, line = in_a_row()
    steps = {"right": (1, 0), "left": (-1, 0), "down": (0, 1), "up": (0, -1)}
    way = ground_of(circuit, places_of(circuit)).find_way(
        line, End((4, 0), "right"), End((40, 16), facing)
    )
    assert way is not None
    assert way[1][0] > way[0][0]
    assert way[1][1] == way[0][1]
    dx, dy = way[-2][0] - way[-1][0], way[-2][1] - way[-1][1]
    assert ((dx > 0) - (dx < 0), (dy > 0) - (dy < 0)) == steps[facing]
