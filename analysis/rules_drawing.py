"""Rules on what stands on the drawing: labels, identification, crossings; and gear locks."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from typing import Any

from analysis.circuit import Component
from analysis.drawn_lines import misleading_crossings
from analysis.plumbing import SELECTORS
from analysis.resolved import resolve_element
from analysis.rules import Hit, Sight, rule
from analysis.words import described, listed

_ISO_1219_2 = "ISO 1219-2, identification code: circuit number, class letter, count (from memory)"
_CODE = re.compile(r"\d+([A-Z])\d+$")
_GEAR = re.compile(
    r"\b(gear|undercarriage|legs?|struts?|(main|nose|tail)[ -]?wheel)\b", re.IGNORECASE
)
_NOT_THE_LEG = re.compile(r"\b(doors?|steering|brakes?|(up|down)?-?locks?)\b", re.IGNORECASE)
"""What else is worked by a jack at a gear, and holds nothing up."""
_BY_HAND = ("lever", "push_button", "pedal")


@rule(
    "warning",
    "14 CFR 23.729(b) at amendment 23-62 and before; 14 CFR 25.729(b)",
    "Fit a mechanical lock at the extended end, or a strut that stays over centre.",
)
def gear_held_by_pressure_alone(sight: Sight) -> Iterator[Hit]:
    """Positive means other than hydraulic pressure must keep a landing gear extended."""
    for cylinder in sight.of_kind("cylinder", "cylinder_double_rod"):
        if not _GEAR.search(cylinder.name) or _NOT_THE_LEG.search(cylinder.name):
            continue
        values = resolve_element(cylinder)
        locked = values.settings.get("lock", "none") in ("extended", "both")
        if not locked and _end_load(values.settings["load"]) >= 0.0:
            yield Hit(
                (cylinder.id,),
                f"{described(cylinder)} has no lock at its extended end and no load that holds it "
                "there: the gear stands on hydraulic pressure alone.",
            )


def _end_load(load: Any) -> float:
    """The load at the extended end [N], positive against extension."""
    return float(load[-1][1] if isinstance(load, tuple) else load)


@rule("note", "common practice", "Write on the lever what each position does.")
def unlabelled_lever(sight: Sight) -> Iterator[Hit]:
    """A lever whose positions have no words invites the wrong move."""
    for valve in sight.of_kind(*SELECTORS):
        if resolve_element(valve).settings["operator"] not in _BY_HAND:
            continue
        bare = [p for p in valve.declared.states["position"].choices if not valve.labels.get(p)]
        if bare:
            yield Hit(
                (valve.id,),
                f"{described(valve)} has no label for {listed(bare)}.",
            )


@rule("note", _ISO_1219_2, "Give it an identification code like 1V3.")
def identification_missing(sight: Sight) -> Iterator[Hit]:
    """Every part carries a code whose letter says what it is."""
    for component in sight.circuit.components.values():
        if component.kind == "junction":
            continue
        match = _CODE.match(component.id)
        letter = component.declared.code
        if match is None:
            yield Hit(
                (component.id,),
                f"{component.id} is no identification code: circuit number, class letter {letter}, "
                "count.",
            )
        elif match[1] != letter:
            yield Hit(
                (component.id,),
                f"{component.id} is a {component.declared.title.lower()}; its class letter is "
                f"{letter}, not {match[1]}.",
            )


@rule("note", "common practice", "Give each part a name of its own.")
def identification_duplicated(sight: Sight) -> Iterator[Hit]:
    """Two parts of one name are mistaken for each other."""
    named: dict[str, list[Component]] = defaultdict(list)
    for component in sight.circuit.components.values():
        if component.name.strip() and component.kind != "junction":
            named[component.name.strip().lower()].append(component)
    for parts in named.values():
        if len(parts) > 1:
            ids = [part.id for part in parts]
            yield Hit(tuple(ids), f"{listed(ids)} are all named '{parts[0].name}'.")


@rule(
    "note",
    "ISO 1219: joined lines carry a dot, crossing lines do not (from memory)",
    "Move a corner, so that the lines cross straight or stay apart.",
)
def crossing_like_joint(sight: Sight) -> Iterator[Hit]:
    """A line that turns or ends on another is read as joined to it."""
    for one, other, (x, y) in misleading_crossings(sight.circuit):
        yield Hit(
            (one, other),
            f"{one} and {other} meet at ({x:g}, {y:g}) without being joined; it could be read as "
            "a joint.",
        )
