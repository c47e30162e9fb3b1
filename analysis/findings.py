"""What the analysis has to say: findings about the drawing, verdicts on requirements."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

Severity = Literal["error", "warning", "note"]


@dataclass(frozen=True)
class Finding:
    """One finding: the rule, how grave it is, the ids it concerns, what is wrong, the mend.

    `waived` holds `reason` and `by` (and `date`, if one was given) where somebody has waived
    the rule on a subject; the finding is then a note, and `severity` among them is what it was.
    """

    rule: str
    severity: Severity
    subjects: tuple[str, ...]
    message: str
    mend: str
    waived: Mapping[str, str] | None = field(default=None, hash=False)

    @property
    def kind(self) -> str:
        """Its severity in words; `waived error` for what would be an error otherwise."""
        return self.severity if self.waived is None else f"waived {self.waived['severity']}"

    def as_json(self) -> dict[str, Any]:
        """The machine form of the contract; `waived` is there only if it is."""
        form: dict[str, Any] = {
            "rule": self.rule,
            "severity": self.severity,
            "subjects": list(self.subjects),
            "message": self.message,
            "mend": self.mend,
        }
        if self.waived is not None:
            form["waived"] = dict(self.waived)
        return form


@dataclass(frozen=True)
class Verdict:
    """Whether a requirement holds, in a sentence, and the way that proves or breaks it.

    `witness` holds ids of components and lines in order from the source to the target or
    the stray port, way after way; for `independent` the shared ones; where no way exists,
    the parts that stop it. `ways` holds the same ways one by one, from the reservoir
    outlet on, so that each can be drawn.
    """

    name: str
    holds: bool
    message: str
    witness: tuple[str, ...] = ()
    ways: tuple[tuple[str, ...], ...] = ()
    judged: bool = True
    """False where it takes runs and none were asked for; it is then not said to hold."""

    def as_json(self) -> dict[str, Any]:
        """The machine form of the contract."""
        return {
            "name": self.name,
            "holds": self.holds,
            "message": self.message,
            "witness": list(self.witness),
        }
