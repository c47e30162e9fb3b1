"""The failure table from a process of its own: the same table, and an end at any time."""

import os
import threading
import time
from pathlib import Path

import analysis
from analysis.circuit_file import read_circuit
from analysis.failures import failures
from analysis.failures_apart import FailuresApart

SAMPLES = Path(analysis.__file__).parent.parent / "sample_circuits"


def sample(name="emergency_pump"):
    """A sample without its procedures, so that it is quick."""
    circuit = read_circuit(SAMPLES / f"{name}.circuit.json")
    circuit.procedures = []
    circuit.requirements = [r for r in circuit.requirements if r["kind"] != "survives"]
    return circuit


class Listener:
    """Keeps what is told, and waits for it."""

    def __init__(self):
        self.told, self.over, self.begun = [], threading.Event(), threading.Event()

    def __call__(self, kind, value):
        self.told.append((kind, value))
        self.begun.set()
        if kind != "progress":
            self.over.set()


def children_of(pid):
    """The processes that a process started, and those that they started."""
    found = []
    for task in Path(f"/proc/{pid}/task").glob("*/children"):
        for child in map(int, task.read_text().split()):
            found += [child, *children_of(child)]
    return found


def test_the_table_is_the_same_as_in_this_process():
    """With progress that rises to 1, told before it."""
    circuit, listener = sample(), Listener()
    FailuresApart(circuit, listener).start()
    assert listener.over.wait(60)
    kinds = [kind for kind, _ in listener.told]
    assert kinds[-1] == "result" and set(kinds[:-1]) == {"progress"}
    shares = [value for kind, value in listener.told if kind == "progress"]
    assert shares == sorted(shares) and shares[-1] == 1.0
    table = listener.told[-1][1]
    assert table == failures(circuit, workers=1)
    assert any(case.lost for case in table.cases)


def test_cancelled_in_the_middle_it_ends_with_all_its_processes():
    """At once, and nothing more is told."""
    circuit, listener = read_circuit(SAMPLES / "emergency_pump.circuit.json"), Listener()
    apart = FailuresApart(circuit, listener, workers=2)
    before = set(children_of(os.getpid()))
    apart.start()
    assert listener.begun.wait(60)
    started = set(children_of(os.getpid())) - before
    assert started
    apart.cancel()
    apart.join(5)
    told = len(listener.told)
    deadline = time.monotonic() + 5
    while time.monotonic() < deadline and alive(started):
        time.sleep(0.02)
    assert not alive(started)
    assert not listener.over.is_set() and len(listener.told) == told


def alive(pids):
    """Those that still run."""
    running = []
    for pid in pids:
        try:
            state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
        except (FileNotFoundError, ProcessLookupError):
            continue
        if state != "Z":
            running.append(pid)
    return running


def test_cancelled_before_it_begins_nothing_is_told():
    """Also while the process is only being started."""
    listener = Listener()
    apart = FailuresApart(sample(), listener)
    apart.start()
    apart.cancel()
    apart.join(10)
    assert not any(kind != "progress" for kind, _ in listener.told)


def test_a_circuit_that_cannot_be_computed_is_told_in_one_line():
    """The error comes back as words, and no traceback."""
    circuit, listener = sample(), Listener()
    circuit.requirements = None  # what no file can hold
    FailuresApart(circuit, listener, workers=1).start()
    assert listener.over.wait(60)
    kind, words = listener.told[-1]
    assert kind == "problem" and "\n" not in words and "failed" in words
