"""Failures that cut the same unbranched way, told from the drawing by hand."""

import sys

import pytest

from analysis import Circuit, failures
from analysis.failure_effects import Trial
from analysis.failure_modes import Failure, find_failures
from analysis.series_ways import alike
from tests.analysis.redundant_press import redundant_press


def _shared(circuit: Circuit) -> list[set[str]]:
    """The groups of more than one failure, as words."""
    groups = alike(circuit, find_failures(circuit))
    return [{" ".join(failure) for failure in group} for group in groups if len(group) > 1]


def test_what_stands_in_series_is_cut_alike():
    """Each check and relief valve with its lines; nothing gets through either way."""
    assert _shared(redundant_press()) == [
        {"0V1 stuck_closed", "L3 blocked", "L5 blocked"},
        {"0V2 stuck_closed", "L4 blocked", "L6 blocked"},
        {"0V3 stuck_closed", "L9 blocked", "L10 blocked"},
        {"0V4 stuck_closed", "L7 blocked", "L8 blocked"},
    ]


def test_every_failure_stands_in_one_group_in_the_order_of_the_first():
    """None is lost, and those that do no more than cut a way are the only ones together."""
    found = find_failures(redundant_press())
    groups = alike(redundant_press(), found)
    assert sorted(failure for group in groups for failure in group) == sorted(found)
    firsts = [found.index(group[0]) for group in groups]
    assert firsts == sorted(firsts)
    together = {failure.mode for group in groups if len(group) > 1 for failure in group}
    assert together == {"blocked", "stuck_closed"}


def test_a_tee_ends_a_way_and_a_union_of_two_lines_does_not():
    """0S1 hangs on a tee of four lines; without gauge, pumps and relief it joins but two."""
    circuit = redundant_press()
    assert not any({"L11 blocked", "L5 blocked"} <= group for group in _shared(circuit))
    for identifier in ("0V2", "0V3", "0S1"):
        circuit.remove(identifier)
    assert {"0V1 stuck_closed", "L3 blocked", "L5 blocked", "L11 blocked"} in _shared(circuit)


def test_two_lines_at_a_port_end_a_way():
    """A gauge at the inlet of the check valve: L3 alone no longer feeds it."""
    circuit = redundant_press()
    circuit.connect("0V1.inlet", "0S1.A", id="L14", bore="8 mm", length="1 m")
    assert {"0V1 stuck_closed", "L5 blocked"} in _shared(circuit)


def test_a_blocked_filter_is_no_cut_for_its_bypass_passes_but_its_lines_are():
    """Fluid gets by the element, and nothing by a blocked line before or behind it."""
    circuit = redundant_press()
    circuit.remove("L3")
    circuit.add("filter", id="0Z9", rated_flow="20 L/min", rated_drop="1 bar",
                bypass_pressure="3 bar")  # fmt: skip
    circuit.connect("0P1.outlet", "0Z9.inlet", id="L20", bore="8 mm", length="1 m")
    circuit.connect("0Z9.outlet", "0V1.inlet", id="L21", bore="8 mm", length="1 m")
    assert {"0V1 stuck_closed", "L5 blocked", "L20 blocked", "L21 blocked"} in _shared(circuit)


@pytest.mark.parametrize(
    "procedure",
    [
        {"expect": [{"by": "9 s", "signal": "0V1.outlet.pressure", "at_least": "1 bar"}]},
        {"expect": [{"by": "9 s", "signal": "L3.flow", "at_least": "1 L/min"}]},
        {"start": {"L5": {"fault": "external_leak"}}},
        {"steps": [{"at": "1 s", "set": {"0V1": {"fault": "stuck_open"}}}]},
        {"steps": [{"after": {"signal": "0V1.open", "is": True}, "set": {}}]},
    ],
)
def test_a_way_that_a_procedure_looks_at_or_sets_is_left_alone(procedure):
    """There it matters on which side of the cut an element is."""
    circuit = redundant_press()
    circuit.set_field("", "procedures", [*circuit.procedures, {"name": "other", **procedure}])
    assert not any("L3 blocked" in group for group in _shared(circuit))
    assert {"0V2 stuck_closed", "L4 blocked", "L6 blocked"} in _shared(circuit)


def test_a_way_that_is_drawn_with_a_failure_is_left_alone():
    """A leak on the way: it is fed from one side of the cut or from the other."""
    circuit = redundant_press()
    circuit.set_value("L5", "fault", "external_leak", state=True)
    assert not any("L3 blocked" in group for group in _shared(circuit))


def _counted(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Failure, bool]]:
    """The runs from now on: which failure, and whether it was rough."""
    runs: list[tuple[Failure, bool]] = []
    original = Trial.run

    def counting(self, course, *rest):
        runs.append((self.failure, course.is_rough))
        return original(self, course, *rest)

    monkeypatch.setattr(Trial, "run", counting)
    return runs


def test_the_table_is_that_of_runs_of_each(monkeypatch):
    """Each pump's way is cut at three places: one run tells what three runs tell."""
    runs = _counted(monkeypatch)
    quick = failures(redundant_press(), workers=1)
    shared = {failure for failure, _ in runs}
    runs.clear()
    alone = lambda _, cases: [(case,) for case in cases]  # noqa: E731
    monkeypatch.setattr(sys.modules["analysis.failures"], "alike", alone)
    each = failures(redundant_press(), workers=1)
    spared = {failure for failure, _ in runs} - shared
    assert spared == {Failure(line, "blocked") for line in ("L3", "L4", "L5", "L6")}
    for row, other in zip(quick.cases, each.cases, strict=True):
        assert (row.lost, row.degraded) == (other.lost, other.degraded)
        assert row.shares.keys() == other.shares.keys()
        for name in row.shares:
            assert row.shares[name] == pytest.approx(other.shares[name], rel=1e-3)
    cut = [row for row in quick.cases if (row.subject, row.mode) in {*spared}]
    # the pumps give 125 and 10 cm3/s: without either it takes 8 % longer, or 13 times as long
    assert [row.degraded for row in cut] == [("extend",)] * 4


def test_what_is_unclear_is_run_for_each(monkeypatch):
    """Near the edge of a verdict the dead end could tip it."""
    runs = _counted(monkeypatch)
    monkeypatch.setattr("analysis.failure_effects._unclear", lambda *_: [0])
    failures(redundant_press(), workers=1)
    for subject, mode in (("0V1", "stuck_closed"), ("L3", "blocked"), ("L5", "blocked")):
        assert [rough for failure, rough in runs if failure == (subject, mode)] == [True, False]
