"""The sentence of a verdict names what stands in the way, as a mechanic would look for it."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest

from analysis import Circuit
from analysis.findings import Verdict
from analysis.requirements import evaluate_one


def circuit_of(parts: dict[str, str | tuple[str, dict[str, Any]]], *lines: str) -> Circuit:
    """Parts by id, with their kind and values; lines as `ID: from to`."""
    circuit = Circuit()
    for identifier, kind in parts.items():
        name, values = (kind, {}) if isinstance(kind, str) else kind
        circuit.add(name, id=identifier, **values)
    for line in lines:
        identifier, start, end = line.replace(":", "").split()
        circuit.connect(start, end, id=identifier)
    return circuit


def ask(circuit: Circuit, kind: str, sources: list[str], target: str, **lever: Any) -> Verdict:
    """The verdict on one target."""
    wanted = {"name": "r", "kind": kind, "from": sources, "targets": [target], "set": lever}
    return evaluate_one(circuit, wanted)


SUPPLIED = {"0Z1": "reservoir", "0P1": "fixed_pump"}
SUCTION = "L1: 0Z1.supply 0P1.inlet"
RAM = {"1A1": "cylinder_single_acting"}


def test_a_relief_valve_in_the_only_way_is_named() -> None:
    """What it lets off is no supply (contract, section 4); the line is there all the same."""
    circuit = circuit_of(
        {**SUPPLIED, "0V1": "relief_valve", **RAM},
        SUCTION, "L2: 0P1.outlet 0V1.inlet", "L3: 0V1.outlet 1A1.cap",
    )  # fmt: skip
    verdict = ask(circuit, "reaches", ["0P1"], "1A1.cap")
    assert not verdict.holds and verdict.witness == ("0V1",)
    assert "0V1 is a relief valve, which counts as no way" in verdict.message
    assert ask(circuit, "reaches_none", ["0P1"], "1A1.cap").witness == ("0V1",)


def test_a_relief_valve_beside_the_way_is_not_named() -> None:
    """The closed valve is what stands in the way, not the relief valve's line home."""
    circuit = circuit_of(
        {**SUPPLIED, "0V1": "relief_valve", "0V2": ("shutoff_valve", {"position": "closed"}),
         **RAM},
        SUCTION, "L2: 0P1.outlet 0V1.inlet", "L3: 0V1.outlet 1A1.cap", "L4: 0P1.outlet 0V2.A",
        "L5: 0V2.B 1A1.cap",
    )  # fmt: skip
    verdict = ask(circuit, "reaches", ["0P1"], "1A1.cap")
    assert verdict.witness == ("0V2",) and "0V2 stands at closed" in verdict.message


@pytest.mark.parametrize(
    ("lever", "reason", "witness"),
    [
        ({"L1": {"fault": "blocked"}}, "nothing feeds 0P1: L1 is blocked", ("L1",)),
        ({"0P1": {"fault": "no_output"}}, "0P1 gives no output", ("0P1",)),
    ],
)
def test_what_keeps_a_pump_from_its_fluid_is_named(
    lever: dict[str, Any], reason: str, witness: tuple[str, ...]
) -> None:
    """In what fails for it, and in what holds by it."""
    circuit = circuit_of({**SUPPLIED, **RAM}, SUCTION, "L2: 0P1.outlet 1A1.cap")
    for kind, holds in (("reaches", False), ("reaches_none", True)):
        verdict = ask(circuit, kind, ["0P1"], "1A1.cap", **lever)
        assert verdict.holds is holds
        assert reason in verdict.message and verdict.witness == witness


def test_a_pump_behind_one_that_is_not_named_says_so() -> None:
    """A pump that is not named carries nothing (contract, section 4)."""
    circuit = circuit_of(
        {**SUPPLIED, "0P2": "fixed_pump", **RAM},
        SUCTION, "L2: 0P1.outlet 0P2.inlet", "L3: 0P2.outlet 1A1.cap",
    )  # fmt: skip
    verdict = ask(circuit, "reaches", ["0P2"], "1A1.cap")
    assert "nothing feeds 0P2: 0P1 is not named as a source" in verdict.message
    assert verdict.witness == ("0P1",)
    assert ask(circuit, "reaches", ["0P1", "0P2"], "1A1.cap").holds


def test_a_pump_on_a_return_port_is_fed_by_nothing() -> None:
    """Only `supply` and `standpipe` feed; there is no part to blame but the pump's line."""
    circuit = circuit_of({**SUPPLIED, **RAM}, "L1: 0Z1.return 0P1.inlet", "L2: 0P1.outlet 1A1.cap")
    verdict = ask(circuit, "reaches", ["0P1"], "1A1.cap")
    assert "no supply or standpipe port of a reservoir feeds 0P1" in verdict.message


def _motor(*lines: str) -> Circuit:
    parts = {**SUPPLIED, "1V1": ("valve_4_2", {"position": "left"}), "1M1": "hydraulic_motor"}
    return circuit_of(
        parts, SUCTION, "L2: 0P1.outlet 1V1.P", "L3: 1V1.A 1M1.A", "L4: 1M1.B 1V1.B", *lines
    )


def test_a_return_that_is_blocked_names_what_blocks_it_and_nothing_else() -> None:
    """Not the motor itself, nor the pump that the return could not pass in any case."""
    circuit = _motor("L5: 1V1.T 0Z1.return")
    verdict = ask(circuit, "reaches", ["0P1"], "1M1.A", L5={"fault": "blocked"})
    assert not verdict.holds and verdict.witness == ("L5",)
    assert verdict.message.endswith("cannot move it: L5 is blocked.")


def test_a_return_that_ends_at_an_open_port_names_the_port() -> None:
    """The tank port of the valve has no line."""
    verdict = ask(_motor(), "reaches", ["0P1"], "1M1.A")
    assert not verdict.holds and verdict.witness == ("1V1",)
    assert "no line leads on from 1V1.T" in verdict.message


def test_a_stuck_shuttle_is_said_to_be_stuck() -> None:
    """It stays at its first inlet; the pump at the second gets no further."""
    circuit = circuit_of(
        {**SUPPLIED, "0P2": "hand_pump", "1V1": "shuttle_valve", **RAM},
        SUCTION, "L2: 0Z1.supply 0P2.inlet", "L3: 0P1.outlet 1V1.inlet_1",
        "L4: 0P2.outlet 1V1.inlet_2", "L5: 1V1.outlet 1A1.cap",
    )  # fmt: skip
    verdict = ask(circuit, "reaches", ["0P2"], "1A1.cap", **{"1V1": {"fault": "stuck"}})
    assert not verdict.holds and "1V1 is stuck" in verdict.message
    assert ask(circuit, "reaches", ["0P1"], "1A1.cap", **{"1V1": {"fault": "stuck"}}).holds


def test_a_sentence_does_not_name_dozens_of_parts() -> None:
    """The first of them and how many more; the witness has every one."""
    parts: dict[str, Any] = {"0Z1": "reservoir", "0P1": "fixed_pump", "0P2": "hand_pump", **RAM}
    parts |= {f"0Z{number}": "junction" for number in range(2, 12)}
    chain = [f"0Z{number}.A" for number in range(2, 12)]
    lines = [f"M{n}: {a} {b}" for n, (a, b) in enumerate(pairwise(chain))]
    circuit = circuit_of(
        parts, SUCTION, "L2: 0Z1.standpipe 0P2.inlet", "L3: 0P1.outlet 0Z2.A",
        "L4: 0P2.outlet 0Z2.A", "L5: 0Z11.A 1A1.cap", *lines,
    )  # fmt: skip
    wanted = {"name": "i", "kind": "independent", "from": ["0P1"], "other": ["0P2"],
              "targets": ["1A1.cap"]}  # fmt: skip
    verdict = evaluate_one(circuit, wanted)
    assert len(verdict.witness) == 1 + 10 + 9 + 1
    assert verdict.message.endswith("0Z10, 0Z11, L5 and 9 more.")


def test_a_return_into_the_pressed_side_itself_leads_to_no_reservoir() -> None:
    """Both ends of the jack on one line: nothing is blocked, and nothing leads home."""
    circuit = circuit_of(
        {**SUPPLIED, "1A1": "cylinder"}, SUCTION, "L2: 0P1.outlet 1A1.cap", "L3: 1A1.rod 1A1.cap"
    )
    verdict = ask(circuit, "reaches", ["0P1"], "1A1.cap")
    assert not verdict.holds
    assert verdict.message.endswith("cannot move it: no line leads on to a reservoir.")


def test_suction_and_delivery_through_one_tee_are_said_to_share_their_way() -> None:
    """No port is met twice on a way (contract, section 4); the pump is not unnamed for that."""
    circuit = circuit_of(
        {**SUPPLIED, "0Z2": "junction", **RAM}, "L1: 0Z1.supply 0Z2.A", "L2: 0Z2.A 0P1.inlet",
        "L3: 0P1.outlet 0Z2.A", "L4: 0Z2.A 1A1.cap",
    )  # fmt: skip
    verdict = ask(circuit, "reaches", ["0P1"], "1A1.cap")
    assert not verdict.holds
    assert "fluid that 0P1 draws would have to take the same way" in verdict.message
    assert ask(circuit, "reaches_none", ["0P1"], "1A1.cap").holds
