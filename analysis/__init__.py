"""What a circuit is and what it does: model, file, connectivity, hydraulics, checks.

Qt and anything that is seen belong in `editor`; what parts exist belongs in `symbols`.
Everything inside is SI; pint is met only in `quantities` and in results for callers.
"""

from analysis.circuit import Circuit

__all__ = ["Circuit"]
