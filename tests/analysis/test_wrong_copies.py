"""Wrong copies of the emergency-pump sample: each is caught, with the way that breaks it."""

from __future__ import annotations

from pathlib import Path

import pytest

from analysis import check, read_circuit
from analysis.circuit import Circuit
from analysis.findings import Verdict

SAMPLE = Path(__file__).parents[2] / "sample_circuits" / "emergency_pump.circuit.json"


@pytest.fixture
def sample() -> Circuit:
    """The sample as it is delivered."""
    return read_circuit(SAMPLE)


def failing(circuit: Circuit) -> list[Verdict]:
    """The requirements that do not hold."""
    return [verdict for verdict in check(circuit).requirements if not verdict.holds]


def test_the_sample_itself_is_sound(sample: Circuit) -> None:
    """Every requirement that is no question over time holds; no error is found."""
    kinds = {r["name"]: r["kind"] for r in sample.requirements}
    assert {"reaches", "reaches_only", "reaches_none", "independent"} <= set(kinds.values())
    assert [v.name for v in failing(sample) if kinds[v.name] != "survives"] == []
    assert [f for f in check(sample).findings if f.severity == "error"] == []


def emergency_only(circuit: Circuit) -> str:
    """The name of the requirement on the emergency pump alone."""
    return next(str(r["name"]) for r in circuit.requirements if r["kind"] == "reaches_only")


def test_a_line_moved_to_the_flaps_is_caught(sample: Circuit) -> None:
    """The emergency pump also presses on the flap cylinder's cap."""
    flaps = next(c.id for c in sample.components.values() if "flap cyl" in c.name.lower())
    witness = next(
        v for v in check(sample).requirements if v.name == emergency_only(sample)
    ).witness
    shuttle = next(e for e in witness if e in sample.components
                   and sample.components[e].kind == "shuttle_valve")  # fmt: skip
    feed = witness[witness.index(shuttle) - 1]
    start = sample.lines[feed].start
    other = sample.lines[feed].end if start.startswith(shuttle) else start
    stray = sample.connect(other, f"{flaps}.cap", "L999")
    broken = {v.name: v for v in failing(sample)}
    verdict = broken[emergency_only(sample)]
    assert stray.id in verdict.witness and verdict.witness[-1] == flaps
    assert f"{flaps}.cap" in verdict.message


def test_a_reversed_check_valve_is_caught(sample: Circuit) -> None:
    """The check valve behind the emergency pump, turned round."""
    witness = next(
        v for v in check(sample).requirements if v.name == emergency_only(sample)
    ).witness
    valve = next(e for e in witness if e in sample.components
                 and sample.components[e].kind == "check_valve")  # fmt: skip
    for line in sample.lines_at(valve):
        for end in ("start", "end"):
            port = getattr(line, end)
            if port.startswith(valve + "."):
                turned = "outlet" if port.endswith("inlet") else "inlet"
                sample.set_field(line.id, end, f"{valve}.{turned}")
    broken = {v.name: v for v in failing(sample)}
    verdict = broken[emergency_only(sample)]
    assert valve in verdict.witness and valve in verdict.message


def test_a_shared_shuttle_that_nobody_agreed_to_is_caught(sample: Circuit) -> None:
    """Without leave to share it, the shuttle breaks independence."""
    wanted = [dict(r) for r in sample.requirements]
    independent = next(r for r in wanted if r["kind"] == "independent")
    shuttle = next(e for e in independent["may_share"] if e in sample.components
                   and sample.components[e].kind == "shuttle_valve")  # fmt: skip
    independent["may_share"] = [e for e in independent["may_share"] if e != shuttle]
    sample.set_field("", "requirements", wanted)
    (verdict,) = [v for v in failing(sample) if v.name == independent["name"]]
    assert verdict.witness == (shuttle,)


def test_one_reservoir_for_both_pumps_is_caught(sample: Circuit) -> None:
    """The emergency pump moved to the main reservoir: a shared part that counts."""
    wanted = next(r for r in sample.requirements if r["kind"] == "independent")
    main, emergency = wanted["other"][0], wanted["from"][0]
    names = {c.id for c in sample.components.values() if c.kind == "reservoir"}
    whole = {v.name: v for v in check(sample).requirements}[wanted["name"]].ways
    own = next(e for way in whole for e in way if e in names and emergency in way)
    shared = next(e for way in whole for e in way if e in names and main in way)
    for line in sample.lines_at(f"{own}.supply"):
        end = "start" if line.start == f"{own}.supply" else "end"
        sample.set_field(line.id, end, f"{shared}.standpipe")
    (verdict,) = [v for v in failing(sample) if v.name == wanted["name"]]
    assert shared in verdict.witness
