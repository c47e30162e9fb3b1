"""What a circuit is and what it does: model, file, connectivity, hydraulics, checks.

Qt and anything that is seen belong in `editor`; what parts exist belongs in `symbols`.
Everything inside is SI; pint is met only in `quantities` and in results for callers.
"""

from analysis.checks import check
from analysis.circuit import Circuit
from analysis.circuit_file import read_circuit, write_circuit
from analysis.failures import failures
from analysis.readings import readings
from analysis.runs import run

__all__ = ["Circuit", "check", "failures", "read_circuit", "readings", "run", "write_circuit"]
