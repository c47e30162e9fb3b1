"""Unloading valves without an accumulator: how fast they change over, and that it is told once."""

from __future__ import annotations

import numpy as np
import pytest

from analysis import Circuit, run
from analysis.crossings import Crossings
from analysis.errors import CircuitError
from analysis.hunting import Changes
from analysis.motion import Motion
from analysis.recording import Recording

CUT_OUT, CUT_IN = 100e5, 80e5
HYSTERESIS = CUT_OUT - CUT_IN


def _unloaded(diameter: str = "1 mm", gas: str = "", **settings: str) -> Circuit:
    """A pump of 6 L/min behind an unloading valve, its system open through a throttle."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1", volume="8 L", reserve="0 L")
    circuit.add("fixed_pump", id="0P1", displacement="10 cm^3/rev", speed="600 rpm")
    circuit.add("unloading_valve", id="0V1", cut_out_pressure="100 bar",
                cut_in_pressure="80 bar", **settings)  # fmt: skip
    circuit.add("shutoff_valve", id="0V3", position="open")
    circuit.add("restrictor", id="0V2", diameter=diameter)
    circuit.connect("0Z1.supply", "0P1.inlet", role="suction")
    circuit.connect("0P1.outlet", "0V1.inlet")
    circuit.connect("0V1.return", "0Z1.return", role="return")
    circuit.connect("0V1.outlet", "0V3.A", bore="10 mm", length="3 m")
    circuit.connect("0V3.B", "0V2.A")
    circuit.connect("0V2.B", "0Z1.return", role="return")
    if gas:
        circuit.add("accumulator", id="0Z2", gas_volume=gas, precharge="60 bar")
        circuit.connect("0V1.outlet", "0Z2.fluid")
    return circuit


class _Watched(Motion):
    """Keeps the time, the pressure and the position of the valve after every step."""

    def __init__(self, circuit: Circuit) -> None:
        super().__init__(circuit)
        self.watched: list[tuple[float, float, bool]] = []

    def _accept(self, *step: object) -> None:
        super()._accept(*step)  # type: ignore[arg-type]
        pressure = self.port_pressure["0V1.outlet"]
        self.watched.append((self.time, pressure, self.switched["0V1"]))


def _worked(circuit: Circuit, until: float) -> tuple[_Watched, np.ndarray]:
    """The motion, and the times of its changes over in two columns: out, and in again."""
    motion = _Watched(circuit)
    motion.advance(until)
    out = [time for (time, _, now), (_, _, before) in _pairs(motion) if now and not before]
    back = [time for (time, _, now), (_, _, before) in _pairs(motion) if before and not now]
    back = [time for time in back if time > out[0]]
    count = min(len(out), len(back))
    return motion, np.array([out[:count], back[:count]]).T


def _pairs(motion: _Watched) -> list[tuple[tuple[float, float, bool], tuple[float, float, bool]]]:
    return list(zip(motion.watched[1:], motion.watched[:-1], strict=True))


def _hunts(recording: Recording) -> list[str]:
    return [e.message for e in recording.events if "hunts" in e.message]


def _close(recording: Recording) -> None:
    accounts = recording.accounts
    assert abs(accounts.volume_error) <= 1e-6 * accounts.volume_scale
    assert abs(accounts.energy_error) <= 0.01 * abs(accounts.delivered)


@pytest.mark.parametrize(("written", "seconds"), [({}, 0.05), ({"shifting_time": "80 ms"}, 0.08)])
def test_once_out_it_stays_out_for_its_shifting_time(written, seconds):
    """And no longer, where the pressure has fallen below cut-in meanwhile."""
    motion, turns = _worked(_unloaded(**written), 3.0)
    assert len(turns) > 10
    assert turns[:, 1] - turns[:, 0] == pytest.approx(seconds, abs=1e-5)
    # it cuts out at once: the pressure goes no further beyond than the search for it is fine
    assert max(pressure for _, pressure, _ in motion.watched) <= CUT_OUT + 0.05 * HYSTERESIS + 1.0


def test_it_is_told_once_that_it_hunts():
    """More than five changes within a second; the single changes are told no more then."""
    recording = run(_unloaded(), until=20.0)
    messages = [e.message for e in recording.events if e.subject == "0V1"]
    assert len(messages) == 6
    assert set(messages[:5]) == {"cuts the pump in", "cuts the pump out"}
    assert messages[5].startswith("hunts: it changes over 2")
    assert "times a second; no accumulator holds the pressure" in messages[5]
    _close(recording)


def test_an_accumulator_keeps_it_from_hunting():
    """Common practice: that is what it is for. The valve then works far slower than it could."""
    recording = run(_unloaded("0.4 mm", gas="1 L"), until=60.0)
    turns = [e.time for e in recording.events if e.message == "cuts the pump out"]
    assert len(turns) >= 3
    assert np.diff(turns).min() > 2.0
    assert not _hunts(recording)


def test_it_is_told_anew_after_it_was_quiet():
    """The throttle shut for two seconds leaves it at rest; then it hunts again."""
    motion = Motion(_unloaded())
    motion.advance(3.0)
    motion.apply({"0V3": {"position": "closed"}})
    motion.advance(6.0)
    motion.apply({"0V3": {"position": "open"}})
    motion.advance(9.0)
    told = [e.time for e in motion.events if "hunts" in e.message]
    assert len(told) == 2
    assert told[0] < 1.0
    assert 6.0 < told[1] < 7.0


def test_it_costs_few_steps_and_gives_nearly_the_flow_of_many(monkeypatch):
    """Beside the same run that follows every shake: a tenth of the steps, the mean within 12 %."""
    coarse = run(_unloaded(), until=10.0, every=0.01)
    monkeypatch.setattr(Crossings, "finest", lambda self: 0.0)
    fine = run(_unloaded(), until=10.0, every=0.01)
    assert coarse.steps < 0.1 * fine.steps
    assert coarse.steps < 60 * 10
    # what the reservoir's pump gave to the throttle, by what was left of the rest: mean flows
    flows = [np.mean(np.array(r.signals["0V2.A.inflow"], dtype=float)) for r in (coarse, fine)]
    assert flows[0] == pytest.approx(flows[1], rel=0.12)
    _close(coarse)
    _close(fine)


def test_no_step_ends_at_cut_in_while_the_valve_is_held_out():
    """Before it is known to hunt every step is accurate, and none is cut for what cannot be."""
    motion, turns = _worked(_unloaded(), 0.2)
    out, back = turns[0]
    held = [p for time, p, _ in motion.watched if out < time < back - 1e-6]
    assert min(held) < CUT_IN - 5e5
    near = [p for p in held if abs(p - CUT_IN) <= 200.0]
    assert not near


def test_back_at_a_moment_it_is_held_as_long_as_it_was():
    """A moment within the shifting time knows when the valve went out."""
    motion = Motion(_unloaded())
    while not motion.switched["0V1"] or motion.time < 1e-3:
        motion.advance(motion.time + 1e-3)
    gone = motion.changes["0V1"].last
    motion.advance(gone + 0.03)
    kept = motion.moment()
    motion.advance(gone + 0.3)
    motion.return_to(kept)
    assert motion.changes["0V1"].last == gone
    motion.advance(gone + 0.049)
    assert motion.switched["0V1"]
    motion.advance(gone + 0.0501)
    assert not motion.switched["0V1"]


def test_changes_within_a_second_are_counted():
    """The sixth change within a second is the first that is too many; a pause ends it."""
    changes = Changes()
    for number in range(5):
        changes = changes.add(0.1 * number)
    assert not changes.hunts
    changes = changes.add(0.5)
    assert changes.hunts
    assert changes.rate == pytest.approx(10.0)
    assert changes.is_hunting(1.4)
    assert not changes.is_hunting(1.6)
    assert not changes.add(1.6).hunts
    slow = Changes()
    for number in range(20):
        slow = slow.add(0.25 * number)
    assert not slow.hunts


def test_a_valve_is_no_faster_than_can_be():
    """The least shifting time is said."""
    with pytest.raises(CircuitError, match="5 ms"):
        Circuit().add("unloading_valve", shifting_time="0 s")
