"""Steps that are taken one after another without a look: all is as if each had been looked at.

No outside numbers: the run that looks at every step is the definition of what must come out,
to the last bit.
"""

from pathlib import Path
from random import Random

import pytest

from analysis import Circuit, quiet_steps, read_circuit, run
from analysis.compiled.levels import Levels
from analysis.failure_modes import Failure, under_failure, with_failure
from analysis.motion import Motion
from analysis.outlets import GULPING
from analysis.pace import deciding
from analysis.procedures import Condition, Expectation, Procedure, find_procedure
from analysis.quiet_steps import QuietSteps
from analysis.resolved import resolve_element
from tests.analysis.redundant_press import redundant_press
from tests.analysis.test_outlets import circulating
from tests.support.random_circuits import random_circuit
from tests.support.random_work import random_work

SAMPLES = {
    path.name.removesuffix(".circuit.json"): path
    for path in (Path(__file__).parents[2] / "sample_circuits").glob("*.circuit.json")
}
PROCEDURES = [
    (name, procedure["name"])
    for name, path in SAMPLES.items()
    for procedure in read_circuit(path).procedures
]
FAILURES = [
    # a reservoir runs dry, a lever stays, the fluid goes another way, a fuse closes
    ("emergency_pump", 1, Failure("L34", "external_leak")),
    ("emergency_pump", 0, Failure("L45", "ruptured")),
    ("emergency_pump", 4, Failure("L72", "external_leak")),
    ("emergency_pump", 3, Failure("0V2", "internal_leak")),
    ("falling_gear", 0, Failure("L20", "ruptured")),
    ("falling_gear", 3, Failure("0V7", "stuck_open")),
    ("hand_pumped_gear", 0, Failure("L5", "external_leak")),
    ("unloading_valve", 1, Failure("0Z2", "external_leak")),
]


HUNTS, FLOATS = (22,), (50, 209, 221)
"""Random circuits in which an unloading valve hunts, or a shuttle's ball floats."""
SEEDS = (*range(20), *HUNTS, *FLOATS)


class LookedAt(Motion):
    """A motion of which every step is looked at."""

    sees_all = True


@pytest.fixture
def counted(monkeypatch):
    """How many quiet steps were taken at each call."""
    found = []
    original = quiet_steps.take_quiet_steps

    def counting(*given):
        result = original(*given)
        found.append(len(result[1]))
        return result

    monkeypatch.setattr(quiet_steps, "take_quiet_steps", counting)
    return found


def outcome(circuit, make_plan, kind, *, roughly, until=None):
    """All that a run leaves behind, of a motion of that kind."""
    motions = []

    def motion(twin):
        motions.append(kind(twin, shared=True))
        return motions[0]

    recording = run(
        circuit, make_plan(), until=until, signals=[], stop_when_decided=True, roughly=roughly,
        weigh=True, motion=motion,
    )  # fmt: skip
    (motion,) = motions
    return {
        "message": recording.message,
        "steps": recording.steps,
        "end": motion.time,
        "samples": recording.time,
        "events": recording.events,
        "expectations": [(e.holds, e.time, e.strength) for e in recording.expectations],
        "missed": [e.missed for e in recording.expectations if not e.holds],
        "moving": motion.moving,
        "strokes": motion.strokes,
        "turns": motion.turns,
        "left": motion.locks.left,
        "pressures": motion.port_pressure,
        "vapour": motion.port_vapour,
        "next": motion.next_step,
    }


def assert_same(circuit, make_plan, *, roughly, until=None):
    """Looked at or not, a run comes to the same."""
    given = {"roughly": roughly, "until": until}
    quiet = outcome(circuit, make_plan, Motion, **given)
    looked_at = outcome(circuit, make_plan, LookedAt, **given)
    for name, wanted in looked_at.items():
        assert quiet[name] == wanted, name
    return quiet


@pytest.mark.parametrize("roughly", [True, False])
@pytest.mark.parametrize(("sample", "procedure"), PROCEDURES)
def test_procedures_of_the_samples_go_as_if_every_step_were_looked_at(sample, procedure, roughly):
    """All of them, at both paces."""
    circuit = read_circuit(SAMPLES[sample])
    assert_same(circuit, lambda: find_procedure(circuit, procedure), roughly=roughly)


@pytest.mark.parametrize(("sample", "number", "failure"), FAILURES)
def test_failures_go_as_if_every_step_were_looked_at(sample, number, failure, counted):
    """And quiet steps were among them."""
    circuit = with_failure(read_circuit(SAMPLES[sample]), failure)
    name = circuit.procedures[number]["name"]
    came_to = assert_same(
        circuit, lambda: under_failure(find_procedure(circuit, name), failure), roughly=True
    )
    assert came_to["steps"] > len(counted)
    assert sum(counted) > 0


def test_most_steps_of_a_procedure_are_quiet(counted):
    """Its 100 steps or so are taken in far fewer calls."""
    circuit = read_circuit(SAMPLES["emergency_pump"])
    name = circuit.procedures[0]["name"]
    plan = find_procedure(circuit, name)
    steps = run(circuit, plan, signals=[], stop_when_decided=True, roughly=True).steps
    assert sum(counted) > 0.5 * steps
    assert len(counted) < 0.5 * steps


def test_nobody_is_kept_from_seeing_every_step(counted):
    """Where signals are recorded, or progress is told, all are taken one by one."""
    circuit = read_circuit(SAMPLES["bench_press"])
    name = circuit.procedures[0]["name"]
    run(circuit, name)
    run(circuit, name, stop_when_decided=True)
    told = []
    run(circuit, name, signals=[], stop_when_decided=True, progress=told.append)
    assert told
    assert not counted


@pytest.mark.parametrize("roughly", [True, False])
@pytest.mark.parametrize("seed", SEEDS)
def test_random_work_goes_as_if_every_step_were_looked_at(seed, roughly):
    """Levers, faults and loads in any order, and whatever may come of them."""
    check_random_work(seed, roughly=roughly)


@pytest.mark.slow
@pytest.mark.timeout(0)
@pytest.mark.parametrize("block", range(6))
def test_600_runs_of_random_work_go_as_if_every_step_were_looked_at(block):
    """More of them, in blocks of 50 circuits at both paces."""
    for seed in range(50 * block, 50 * block + 50):
        for roughly in (True, False):
            check_random_work(seed, roughly=roughly)


def check_random_work(seed: int, *, roughly: bool) -> None:
    """Half a minute of it on the circuit of this seed."""
    circuit = random_circuit(seed, least=5, most=25)

    def plan() -> Procedure:
        work = random_work(circuit, seed, 30.0)
        work.expectations = random_expectations(circuit, seed, 30.0)
        return work

    assert_same(circuit, plan, roughly=roughly, until=30.0)


def random_expectations(circuit: Circuit, seed: int, until: float) -> list[Expectation]:
    """Up to four expectations of places, efforts and pressures; for some circuits none."""
    random, found = Random(seed), []
    for part in circuit.components.values():
        own, by = part.id, random.uniform(0.3, 1.0) * until
        if part.kind.startswith("cylinder"):
            stroke = resolve_element(part).settings["stroke"]
            level = random.uniform(0.1, 0.99) * stroke
            found.append(Expectation("out", Condition(f"{own}.extension", at_least=level), by=by))
            if random.random() < 0.3:
                in_reach = Condition(f"{own}.extension", at_most=0.9 * stroke)
                found.append(Expectation("in", in_reach))
        elif part.kind == "hand_pump":
            effort = Condition(f"{own}.effort", at_least=random.uniform(20.0, 400.0))
            found.append(Expectation("effort", effort, by=by))
        elif part.kind in ("check_valve", "fixed_pump", "filter", "relief_valve"):
            level = 10.0 ** random.uniform(4.0, 7.0)
            pressure = Condition(f"{own}.outlet.pressure", at_least=level)
            found.append(Expectation("pressure", pressure, by=by))
    random.shuffle(found)
    return found[:4]


@pytest.mark.parametrize("roughly", [True, False])
def test_fluid_and_air_drawn_by_turns_are_followed_as_roughly(roughly):
    """While that lasts a larger error is let pass at every step."""
    circuit = circulating("4 L")

    def plan() -> Procedure:
        out_of_reach = Condition("0P1.outlet.pressure", at_least=1e9)
        return Procedure("draw", expectations=[Expectation("high", out_of_reach, by=30.0)])

    came_to = assert_same(circuit, plan, roughly=roughly, until=30.0)
    assert any(event.message == GULPING for event in came_to["events"])


def test_a_member_that_left_its_stop_quietly_has_left_it():
    """The run ends before it is told that it extends, which is after 2 of 400 mm: 20 ms."""
    circuit = redundant_press(lock="retracted", lock_release_pressure="20 bar")

    def plan() -> Procedure:
        out = Expectation("out", Condition("1A1.extension", at_least=0.4), by=0.012)
        return Procedure("extend", expectations=[out])

    came_to = assert_same(circuit, plan, roughly=True, until=0.012)
    assert 0.0005 < came_to["moving"]["1A1"]["extension"] < 0.002
    assert came_to["left"] == {("1A1", "retracted")}


def test_a_reservoir_that_is_no_longer_full_is_looked_at_anew():
    """That is not told, and the network is not made anew for it."""
    motion = Motion(redundant_press())
    motion.pace = deciding(10.0, unforeseen=False)
    quiet = QuietSteps(motion, [])
    full = [Levels(*quiet._levels()).full.tolist()]
    for change in (motion.outlets.full.add, motion.outlets.full.discard):
        change("0Z1")
        full.append(Levels(*quiet._levels()).full.tolist())
    assert full == [[False], [True], [False]]


def test_what_is_decided_from_the_start_ends_after_one_step(counted):
    """Nothing is expected: the first step ends the run, as quiet as the others would be."""
    circuit = read_circuit(SAMPLES["bench_press"])
    recording = run(circuit, Procedure("idle"), until=20.0, signals=[], stop_when_decided=True)
    assert recording.steps == 2
    assert counted == [1]
