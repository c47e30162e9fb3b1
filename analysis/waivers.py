"""Waivers: a rule that is not held against a part or line, why, and who says so.

A waiver is `{"rule", "reason", "by"}` and, if it is wanted, `"date"`, in the list `waivers`
of a component or line. What it does to a finding stands in `analysis.rules`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from typing import Any

from analysis.errors import EditError

# Spelled out, and not asked of the rules themselves: a file is read without loading the
# numerics that the rules stand on. A test holds this list against the sources.
WAIVABLE = frozenset(
    {
        "accumulator_stays_charged",
        "broken_reference",
        "cavitation",
        "check_valve_blocks_only_way",
        "common_cause",
        "conflicting_pressures",
        "crossing_like_joint",
        "dead_headed",
        "dry_pump",
        "emergency_pump_above_standpipe",
        "filter_passed_backward",
        "flow_without_limit",
        "gear_held_by_pressure_alone",
        "hand_pump_without_check",
        "identification_duplicated",
        "identification_missing",
        "idle_source",
        "line_velocity",
        "mixed_fluids",
        "moved_by_load",
        "no_filter",
        "no_return",
        "no_steady_state",
        "pump_without_relief",
        "pumps_without_check_valves",
        "range_at_middle",
        "relief_above_rating",
        "relief_below_working_pressure",
        "reserve_not_kept",
        "reservoir_too_small",
        "reynolds_between",
        "rod_end_intensification",
        "seals_against_fluid",
        "starved_pump",
        "state_beyond_size",
        "suction_too_low",
        "trapped_volume",
        "unconnected_port",
        "unfed_source",
        "unknown_at_default",
        "unknown_liquid",
        "unlabelled_lever",
        "unreachable_actuator",
    }
)
"""The rules of all findings: whatever a finding's `rule` can be."""

_NEEDED = {"reason": "a reason", "by": "the name of who waives it"}


def check_waivers(waivers: Sequence[Mapping[str, Any]], place: str) -> None:
    """Raise EditError unless every waiver names a rule that there is, a reason and a person.

    Parameters
    ----------
    waivers
        As on a component or line.
    place
        What the error names as the place, before `[0].rule`.

    Examples
    --------
    >>> check_waivers([{"rule": "no_filter", "reason": " ", "by": "A. Fitter"}], "0P1.waivers")
    Traceback (most recent call last):
    analysis.errors.EditError: 0P1.waivers[0].reason: is empty; a waiver needs a reason
    """
    for number, waiver in enumerate(waivers):
        rule = str(waiver.get("rule") or "")
        if rule not in WAIVABLE:
            near = get_close_matches(rule, sorted(WAIVABLE), n=1, cutoff=0.6)
            mend = f"did you mean '{near[0]}'?" if near else "take the waiver out"
            raise EditError(f"'{rule}' is no rule; {mend}", f"{place}[{number}].rule")
        for key, what in _NEEDED.items():
            if not str(waiver.get(key) or "").strip():
                raise EditError(f"is empty; a waiver needs {what}", f"{place}[{number}].{key}")


def with_waiver(
    waivers: Sequence[Mapping[str, str]], rule: str, reason: str, by: str, date: str = ""
) -> list[dict[str, str]]:
    """The waivers with one more; it takes the place of those of the same rule.

    Raises
    ------
    EditError
        If there is no such rule, or reason or name are missing.
    """
    one = {"rule": rule, "reason": " ".join(reason.split()), "by": " ".join(by.split())}
    if date.strip():
        one["date"] = date.strip()
    check_waivers([one], "waivers")
    return [*without_waiver(waivers, rule), one]


def without_waiver(waivers: Sequence[Mapping[str, str]], rule: str) -> list[dict[str, str]]:
    """The waivers without those of a rule."""
    return [dict(waiver) for waiver in waivers if waiver.get("rule") != rule]


def waiver_words(by: str, reason: str) -> str:
    """What is added to the message of a waived finding."""
    return f"Waived by {by}: {reason}" + ("" if reason.endswith(".") else ".")
