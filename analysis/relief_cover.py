"""Which relief valves protect a port, and which limit what the sources can put there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.circuit import Component
from analysis.lever_sets import NONE
from analysis.passages import SOURCES
from analysis.plumbing import PIPES, Step
from analysis.resolved import resolve_element

if TYPE_CHECKING:
    from analysis.rules import Sight

_ONWARD = ("check_valve", "filter")


def to_first_closing(step: Step) -> bool:
    """Onward from a pump to the first thing that can close."""
    return step.kind in PIPES or (step.kind in _ONWARD and step.forward)


def relief_inlets(sight: Sight, region: set[str]) -> list[str]:
    """The inlets in the region of relief valves that can open, and have somewhere to let off to."""
    return [
        port
        for port in region
        if port.endswith(".inlet")
        and sight.plumbing.kind_at(port) == "relief_valve"
        and can_let_off(sight, sight.circuit.components[port.rpartition(".")[0]])
    ]


def can_let_off(sight: Sight, valve: Component) -> bool:
    """Whether a relief valve can open, and has a line to let off to."""
    if resolve_element(valve).fault == "stuck_closed":
        return False
    return bool(sight.circuit.lines_at(f"{valve.id}.outlet"))


def protecting(sight: Sight, port: str) -> list[Component]:
    """The relief valves that stand at the port, or behind nothing that can close."""
    region = sight.plumbing.flood([port], to_first_closing)
    ids = {inlet.rpartition(".")[0] for inlet in relief_inlets(sight, region)}
    return [sight.circuit.components[i] for i in sorted(ids)]


def lowest(sight: Sight, valves: list[Component]) -> Component:
    """The one of the relief valves that opens first."""
    return min(valves, key=lambda valve: sight.setting(valve, "set_pressure"))


class Limits:
    """Which relief valves limit what the sources can put to a port.

    Accumulators are left out: what charges them is limited itself.
    """

    def __init__(self, sight: Sight) -> None:
        self.sight = sight
        self._valves: dict[str, Component | None] = {}
        self._unlowered: dict[str, set[str]] = {}

    def at(self, port: str, *, in_full: bool) -> list[Component | None]:
        """For each source that reaches the port with some levers, the valve that limits it.

        None stands for a source that no relief valve limits; `in_full`, also for one whose
        pressure a reducing valve on the way lowers. Throttles lower none where nothing flows.
        A relief valve at the port itself limits them all.
        """
        own = protecting(self.sight, port)
        if own:
            return [lowest(self.sight, own)]
        found: list[Component | None] = []
        for source, reached in self.sight.reach.reached.items():
            kind = self.sight.circuit.components[source].kind
            if kind != "accumulator" and reached.get(port, NONE) != NONE:
                outlet = f"{source}.{SOURCES[kind][1]}"
                lowered = in_full and port not in self._fully_pressed(outlet)
                found.append(None if lowered else self._valve(outlet))
        return found

    def _valve(self, outlet: str) -> Component | None:
        if outlet not in self._valves:
            valves = protecting(self.sight, outlet)
            self._valves[outlet] = lowest(self.sight, valves) if valves else None
        return self._valves[outlet]

    def _fully_pressed(self, outlet: str) -> set[str]:
        """The ports to which the pressure at a source's outlet gets without being reduced."""
        if outlet not in self._unlowered:
            self._unlowered[outlet] = self.sight.plumbing.flood([outlet], _keeps_pressure)
        return self._unlowered[outlet]


def _keeps_pressure(step: Step) -> bool:
    if step.kind in ("relief_valve", "reducing_valve") or step.there.endswith(
        (".return", ".drain")
    ):
        return step.kind == "line"
    return True
