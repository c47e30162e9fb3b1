"""All design rules: importing this module fills `analysis.rules.RULES`."""

from __future__ import annotations

from collections.abc import Iterator

from analysis import rules_drawing, rules_protection, rules_supply, rules_ways
from analysis.findings import Finding
from analysis.rules import RULES, Sight

MODULES = (rules_protection, rules_ways, rules_supply, rules_drawing)


def find_rule_findings(sight: Sight) -> Iterator[Finding]:
    """What all rules find, rule by rule, waivers not yet looked at."""
    for rule in RULES.values():
        yield from rule.findings(sight)
