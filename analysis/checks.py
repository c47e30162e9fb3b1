"""Is it sound: all findings and all requirements of a circuit in one result."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from analysis.all_rules import find_rule_findings
from analysis.asked import Asked
from analysis.broken_references import find_broken_references
from analysis.circuit import Circuit
from analysis.common_causes import find_common_cause_findings
from analysis.connection_findings import find_connection_findings
from analysis.findings import Finding, Verdict
from analysis.readings import Readings
from analysis.requirements import evaluate, read_requirements
from analysis.rules import Sight, with_waivers

_ORDER = {"error": 0, "warning": 1, "note": 2}


@dataclass(frozen=True)
class CheckResult:
    """Findings, the grave ones first, and verdicts in the order of the file."""

    findings: tuple[Finding, ...]
    requirements: tuple[Verdict, ...]

    @property
    def ok(self) -> bool:
        """Whether there is no error-level finding and every requirement holds."""
        sound = all(finding.severity != "error" for finding in self.findings)
        return sound and all(verdict.holds for verdict in self.requirements)

    def as_json(self) -> dict[str, Any]:
        """The machine form of the contract."""
        return {
            "findings": [finding.as_json() for finding in self.findings],
            "requirements": [verdict.as_json() for verdict in self.requirements],
        }


def check(
    circuit: Circuit, *, instant: Readings | None = None, with_runs: bool = True
) -> CheckResult:
    """All findings and requirements of the circuit as it stands.

    Parameters
    ----------
    circuit
        Not changed.
    instant
        Its readings, if they are known already; else they are taken.
    with_runs
        Whether to judge the requirements that take runs over time (`survives`), which
        takes seconds to minutes; else their verdicts say that they are not judged.

    Raises
    ------
    QuantityError
        If the liquid's temperature is outside -60 to 150 degC.

    Examples
    --------
    >>> circuit = Circuit()
    >>> _ = circuit.add("cylinder", id="1A1")
    >>> [f.severity for f in check(circuit).findings]
    ['error', 'warning', 'warning']
    """
    sight = Sight(circuit, instant)
    findings = find_connection_findings(circuit, sight.reach)
    findings += sight.readings.findings
    findings += find_rule_findings(sight)
    wanted = read_requirements(circuit)
    asked = [one for one in wanted if isinstance(one, Asked)]
    findings += find_common_cause_findings(circuit, asked)
    findings += find_broken_references(circuit)
    findings = with_waivers(circuit, findings)
    findings.sort(key=lambda finding: _ORDER[finding.severity])
    verdicts = evaluate(circuit, with_runs=with_runs, wanted=wanted)
    return CheckResult(tuple(findings), verdicts)
