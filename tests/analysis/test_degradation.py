"""By how much a function that is kept is worse: slower, weaker, and what is told of it.

The press of the tests is hand arithmetic. Pump 0.5 cm3/rev at 1500 rpm: 12.5 cm3/s, into
A = 1963.5 mm2 for 100 mm: 196.35 cm3 in 15.7 s. A leak of 0.5 mm (area a = 0.19635 mm2,
C_d 0.61, oil as `density`) passes q = C_d a sqrt(2 p / rho).
"""

from __future__ import annotations

from math import pi, sqrt
from typing import Any

import pytest

from analysis import Circuit, failures
from analysis.assemble import assemble
from analysis.degradation import SLOWER, WEAKER
from analysis.failure_effects import Trial
from analysis.failure_modes import Failure
from analysis.failure_reference import refer
from analysis.failures import Case, FailureTable
from analysis.procedures import Condition, Expectation, Procedure
from analysis.script import Script

PUMP = 0.5e-6 * 25.0
PISTON = pi / 4 * 0.050**2
LOAD = 5000.0
HOLE = 0.61 * pi / 4 * 0.0005**2


def press(*expectations: dict[str, Any], out: bool = False) -> Circuit:
    """A small pump, a relief valve at 100 bar and a ram with 5 kN on it; lines without loss."""
    circuit = Circuit()
    circuit.display_units["force"] = "kN"
    circuit.add("reservoir", id="0Z1", capacity="20 L", volume="15 L")
    circuit.add("fixed_pump", id="0P1", displacement="0.5 cm^3/rev", speed="1500 rpm")
    circuit.add("relief_valve", id="0V1", set_pressure="100 bar", rated_flow="20 L/min")
    circuit.add("cylinder", id="1A1", bore="50 mm", rod_diameter="25 mm", stroke="100 mm",
                load="5000 N", extension="100 mm" if out else "0 mm")  # fmt: skip
    circuit.connect("0Z1.supply", "0P1.inlet", id="L1")
    circuit.connect("0P1.outlet", "1A1.cap", id="L2")
    circuit.connect("0P1.outlet", "0V1.inlet", id="L3")
    circuit.connect("0V1.outlet", "0Z1.return", id="L4")
    circuit.connect("1A1.rod", "0Z1.return", id="L5")
    circuit.set_field("", "procedures", [{"name": "p", "expect": list(expectations)}])
    return circuit


def case(table: FailureTable, subject: str, mode: str) -> Case:
    """One row of the table."""
    (found,) = [row for row in table.cases if (row.subject, row.mode) == (subject, mode)]
    return found


def density(circuit: Circuit) -> float:
    """Of the circuit's oil [kg/m3], at its temperature and no pressure."""
    return float(assemble(circuit).liquid.density)


FORCE = {"by": "100 s", "signal": "1A1.force", "at_least": "8 kN"}
TRAVEL = {"by": "100 s", "signal": "1A1.extension", "at_least": "99.99 mm"}


@pytest.fixture(scope="module")
def table() -> FailureTable:
    """All failures of the press that goes out and then pushes with 8 kN at least."""
    return failures(press(FORCE, TRAVEL), workers=1)


def test_a_leak_that_the_pump_cannot_feed_makes_the_ram_weaker_by_so_much(
    table: FailureTable,
) -> None:
    """All of the pump goes through the leak at p = (q / (C_d a))^2 rho / 2, some 47 bar."""
    oil = density(press())
    stalled = (PUMP / HOLE) ** 2 * oil / 2 * PISTON
    full = (100e5 + 10e5 * PUMP / (20e-3 / 60)) * PISTON
    row = case(table, "0P1", "external_leak")
    assert row.degraded == ("p",) and row.lost == ()
    assert row.shares["p"]["weaker"] == pytest.approx(1 - stalled / full, rel=0.01)
    assert "comes to 9.3" in row.reasons["p"] and "kN, not 19.7 kN" in row.reasons["p"]


def test_the_same_leak_makes_it_slower_by_so_much(table: FailureTable) -> None:
    """Under the load of 25.5 bar the leak takes two thirds of the pump's flow."""
    oil = density(press())
    left = PUMP - HOLE * sqrt(2 * LOAD / PISTON / oil)
    shares = case(table, "0P1", "external_leak").shares["p"]
    assert shares["slower"] == pytest.approx(PUMP / left - 1, rel=0.02)


def test_what_is_kept_in_full_is_not_called_degraded(table: FailureTable) -> None:
    """A relief valve that never opens to a limit below; its line home leaks at no pressure."""
    for mode in ("ruptured", "external_leak"):
        row = case(table, "L4", mode)
        assert (row.lost, row.degraded, row.reasons, row.shares) == ((), (), {}, {})


def test_a_function_that_is_only_weaker_is_degraded() -> None:
    """The ram stands at its stop from the start, so that no time tells the two apart."""
    row = case(failures(press(FORCE, out=True), workers=1), "0P1", "internal_leak")
    assert row.degraded == ("p",)
    assert list(row.shares["p"]) == ["weaker"] and row.shares["p"]["weaker"] > 0.5


def test_a_pressure_that_must_stay_is_weaker_by_the_least_that_it_stays_at() -> None:
    """Without the pump the load keeps 25.5 bar in the cap, of 100.4 bar before."""
    stays = {"throughout": True, "signal": "1A1.cap.pressure", "at_least": "20 bar"}
    row = case(failures(press(stays, out=True), workers=1), "0P1", "no_output")
    assert row.lost == () and row.degraded == ("p",)
    relieved = 100e5 + 10e5 * PUMP / (20e-3 / 60)
    assert row.shares["p"]["weaker"] == pytest.approx(1 - LOAD / PISTON / relieved, rel=0.01)


def test_a_limit_that_is_kept_better_is_no_weakness() -> None:
    """`at_most` asks for no strength: less pressure than before is no harm."""
    limit = {"throughout": True, "signal": "1A1.cap.pressure", "at_most": "120 bar"}
    row = case(failures(press(TRAVEL, limit), workers=1), "0P1", "external_leak")
    assert list(row.shares["p"]) == ["slower"]


def test_a_run_ends_where_more_force_would_be_of_no_account() -> None:
    """A leak of 0.02 mm: the ram comes to nearly its full force soon after the 16 s of its way."""
    circuit = press(FORCE, TRAVEL)
    circuit.set_value("0P1", "leak_diameter", "0.02 mm")
    reference = refer(circuit, "p", ())
    leak = Trial(circuit, reference, Failure("0P1", "external_leak")).run(reference.fine)
    assert leak.holds
    assert leak.time[-1] < 25.0
    force, without = leak.expectations[0].strength, reference.fine.strengths[0]
    assert force is not None and without is not None
    assert 0.97 * without <= force <= without


def test_the_machine_form_tells_why_and_by_how_much(table: FailureTable) -> None:
    """Beside the keys of the contract, and only where there is something to tell."""
    form = {(d["subject"], d["mode"], d["function"]): d for d in table.as_json()["details"]}
    told = {"subject", "mode", "function", "reason"}
    leak = form["0P1", "external_leak", "p"]
    assert set(leak) == told | {"slower", "weaker"} and leak["reason"]
    assert set(form["0P1", "no_output", "p"]) == told
    assert ("L4", "ruptured", "p") not in form


def test_words_of_a_case_say_by_how_much() -> None:
    """What the table on a terminal shows."""
    row = Case("0P1", "internal_leak", (), ("a", "b"), {}, {"a": {"slower": 0.5, "weaker": 0.07}})
    assert row.how_much("a") == "50 % slower and 7 % weaker"
    assert row.how_much("b") == ""
    assert 0 < SLOWER < 0.07 and 0 < WEAKER < 0.07


def test_what_it_came_to_before_counts_where_a_run_goes_on() -> None:
    """What a pressure came to up to a step of the procedure is not forgotten at that step."""

    def plan() -> Procedure:
        return Procedure(
            "p", expectations=[Expectation("", Condition("a.pressure", at_least=5e6), 10.0)]
        )

    def look(script: Script, time: float, pressure: float) -> float | None:
        script.look(time, {"a.pressure": pressure})
        return script.plan.expectations[0].strength

    first = Script(plan())
    assert look(first, 1.0, 9e6) == 9e6
    second = Script(plan(), first.where())
    assert look(second, 2.0, 6e6) == 9e6
    assert look(second, 9.0, 9.5e6) == 9.5e6
    assert look(second, 11.0, 12e6) == 9.5e6, "after its time nothing counts"
