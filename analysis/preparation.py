"""Compiling the solver for this machine, once: `python -m analysis.preparation`.

What numba compiles is kept (`analysis.compiled`), so it is done when the program is set up,
and at the first start where that was left out.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from analysis.circuit import Circuit
from analysis.compiled import FOLDER
from analysis.compiled.laws import rounded_roots
from analysis.compiled.trials import lets_go_at, share_to
from analysis.procedures import Condition, Expectation, Procedure
from analysis.readings import readings
from analysis.runs import run


def is_prepared() -> bool:
    """Whether the solver of these sources has been compiled on this machine."""
    mark = _mark()
    return mark is not None and mark.exists()


def prepare() -> None:
    """Compile all that readings and runs call, by working a small circuit."""
    circuit = _circuit()
    readings(circuit)
    run(circuit, until=0.1)
    far = Expectation("", Condition("cylinder.extension", at_least=10.0), by=0.1)
    run(
        circuit, Procedure("", expectations=[far]), signals=[], stop_when_decided=True, roughly=True
    )
    rounded_roots(np.zeros(1))
    share_to(1.0, 0.0, 2.0, 0.1)
    lets_go_at(1.0)
    mark = _mark()
    if mark is not None:
        mark.touch()


def _mark() -> Path | None:
    return None if FOLDER is None else FOLDER / "prepared"


def _circuit() -> Circuit:
    """A pump that moves a piston through check and reducing valve, a relief valve beside it."""
    circuit = Circuit()
    for kind in ("reservoir", "fixed_pump", "relief_valve", "check_valve", "reducing_valve"):
        circuit.add(kind, id=kind)
    circuit.add("cylinder_single_acting", id="cylinder")
    circuit.connect("reservoir.supply", "fixed_pump.inlet")
    circuit.connect("fixed_pump.outlet", "check_valve.inlet", bore="6 mm", length="1 m")
    circuit.connect("fixed_pump.outlet", "relief_valve.inlet")
    circuit.connect("relief_valve.outlet", "reservoir.return")
    circuit.connect("check_valve.outlet", "reducing_valve.inlet", bore="6 mm", length="1 m")
    circuit.connect("reducing_valve.outlet", "cylinder.cap", bore="6 mm", length="1 m")
    return circuit


def why_now() -> str:
    """What takes so long, in a sentence for whoever waits."""
    if FOLDER is not None:
        return "preparing the solver for this machine; this is done once, in half a minute or so"
    return (
        "preparing the solver, which takes half a minute at every start, since the cache in the "
        "home folder cannot be written; set XDG_CACHE_HOME to a folder that can"
    )


if __name__ == "__main__":
    try:
        prepare()
    except KeyboardInterrupt:
        sys.exit(130)
