"""The solver is compiled when the program is set up, and nothing of it later."""

import json
import os
import subprocess
import sys
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules

import pytest

from analysis import compiled, constants, preparation, read_circuit, readings, run
from analysis.failure_modes import find_failures
from analysis.failure_reference import refer

SAMPLES = Path(__file__).parents[2] / "sample_circuits"


def compilations():
    """How often each compiled function was compiled, by name."""
    found = {}
    for module in iter_modules(compiled.__path__, f"{compiled.__name__}."):
        for name, function in vars(import_module(module.name)).items():
            if getattr(function, "__module__", "") == module.name and hasattr(function, "stats"):
                found[f"{module.name}.{name}"] = sum(function.stats.cache_misses.values())
    return found


def check_that_nothing_is_compiled_later():
    """Readings, runs and the screen for failures call it all with arrays of the same types."""
    preparation.prepare()
    before = compilations()
    assert "analysis.compiled.newton.minimize" in before
    for sample in SAMPLES.glob("*.circuit.json"):
        circuit = read_circuit(sample)
        readings(circuit, start=readings(circuit))
    circuit = read_circuit(SAMPLES / "unloading_valve.circuit.json")
    name = circuit.procedures[0]["name"]
    run(circuit, name)
    refer(circuit, name, find_failures(circuit))
    for sample in SAMPLES.glob("*.circuit.json"):
        circuit = read_circuit(sample)
        for procedure in circuit.procedures:
            run(circuit, procedure["name"], signals=[], stop_when_decided=True, roughly=True)
    assert compilations() == before


def test_nothing_is_compiled_once_it_is_prepared():
    """With what was compiled on this machine before: of other types nothing is called."""
    check_that_nothing_is_compiled_later()


@pytest.mark.slow
def test_nothing_is_compiled_once_it_is_prepared_on_a_new_machine(tmp_path):
    """With nothing kept: what is not called while preparing would be compiled later."""
    code = f"from {__name__} import *; check_that_nothing_is_compiled_later()"
    environment = os.environ | {"XDG_CACHE_HOME": str(tmp_path)}
    root = Path(__file__).parents[2]
    subprocess.run([sys.executable, "-c", code], check=True, env=environment, cwd=root)
    assert list(tmp_path.glob("standpipe/compiled-*/prepared"))


def test_the_mark_belongs_to_these_sources(tmp_path, monkeypatch):
    """Another folder has no mark until the solver was compiled for it."""
    monkeypatch.setattr(preparation, "FOLDER", tmp_path)
    assert not preparation.is_prepared()
    preparation.prepare()
    assert preparation.is_prepared()


def test_numba_is_loaded_without_scipy():
    """It would take it in for its linear algebra; whoever wants scipy has it all the same."""
    code = (
        "import sys; from analysis import preparation; preparation.prepare(); "
        "assert 'scipy.linalg' not in sys.modules; "
        "import scipy.linalg; assert scipy.linalg.norm([3.0, 4.0]) == 5.0"
    )
    subprocess.run([sys.executable, "-c", code], check=True, cwd=SAMPLES.parent)


def test_uncompiled_it_gives_the_same():
    """What a debugger steps through is the same arithmetic."""
    sample = SAMPLES / "bench_press.circuit.json"
    code = (
        "from analysis import read_circuit, readings; import json, sys; "
        f"print(json.dumps(readings(read_circuit({str(sample)!r})).pressures))"
    )
    environment = {"NUMBA_DISABLE_JIT": "1", "PATH": "", "HOME": str(Path.home())}
    plain = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True,
        env=environment, cwd=SAMPLES.parent,
    )  # fmt: skip
    found = readings(read_circuit(sample)).pressures
    assert json.loads(plain.stdout) == pytest.approx(found, rel=1e-9, abs=1e-3)


def test_where_nothing_can_be_kept_it_works_all_the_same(tmp_path, monkeypatch):
    """A cache that is a file, not a folder: no folder, and no mark."""
    (tmp_path / "standpipe").write_text("in the way")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert compiled._find_folder() is None
    monkeypatch.setattr(preparation, "FOLDER", None)
    preparation.prepare()
    assert not preparation.is_prepared()


def test_whoever_waits_is_told_what_would_spare_it(monkeypatch):
    """Once, where the machine code is kept; where it cannot be, how it could."""
    monkeypatch.setattr(preparation, "FOLDER", Path("anywhere"))
    assert "done once" in preparation.why_now()
    monkeypatch.setattr(preparation, "FOLDER", None)
    assert "XDG_CACHE_HOME" in preparation.why_now()


def test_other_constants_are_other_machine_code(tmp_path, monkeypatch):
    """A constant is built into the code, and so are the sources."""
    before = compiled._digest()
    other = tmp_path / "constants.py"
    other.write_text(Path(constants.__file__).read_text() + "\n")
    monkeypatch.setattr(constants, "__file__", str(other))
    assert compiled._digest() != before
