"""Restrictors, regulators, dividers, fuses, filters, coolers, hoses and couplings."""

from __future__ import annotations

from math import inf, sqrt

from analysis.constants import STIFF
from analysis.devices import Modulator
from analysis.part import Part, orifice_coefficient


def restriction(part: Part) -> float:
    """Passage coefficient of the diameter, or of the rated flow where only that is given."""
    s = part.settings
    given = s["rated_flow"] is not None and s["rated_drop"] is not None
    if given and "diameter" not in part.written:
        return part.rated()
    return orifice_coefficient(s["diameter"], s["discharge_coefficient"], part.liquid.density)


def restrictor(part: Part) -> None:
    """A sharp-edged orifice both ways."""
    if part.fault != "blocked":
        part.branches["main"] = part.passage("A", "B", restriction(part))


def adjustable_restrictor(part: Part) -> None:
    """An orifice whose area is in proportion to its opening."""
    if part.fault != "blocked" and part.state["opening"] > 0.0:
        part.branches["main"] = part.passage("A", "B", restriction(part) * part.state["opening"])


def one_way_restrictor(part: Part) -> None:
    """An orifice from `restricted` to `free`; the other way costs nothing."""
    if part.fault == "blocked":
        return
    part.branches["main"] = part.passage("free", "restricted", restriction(part))
    part.deadband((("free", 1.0), ("restricted", -1.0)), STIFF, above=0.0, below=-inf)


def flow_regulator(part: Part) -> None:
    """`flow` above minimum_drop, an orifice below; the same orifice in reverse."""
    if part.fault == "blocked":
        return
    s = part.settings
    coefficient = s["flow"] / sqrt(s["minimum_drop"])
    part.branches["main"] = part.passage(
        "inlet", "outlet", coefficient, reverse=0.0, limit=s["flow"]
    )
    part.passage("outlet", "inlet", coefficient, reverse=0.0)


def flow_divider(part: Part) -> None:
    """Shares its inlet flow in a fixed ratio, throttling the outlet of lesser pressure.

    The outlet at the higher pressure is fully open: inlet pressure is that one plus
    rated_drop * (flow / rated_flow)^2. The other is throttled by the difference, which the
    modulator finds: a plain ratio element would hand its energy to the other outlet.
    """
    if part.fault == "blocked":
        return
    r = part.settings["ratio"]
    terms = (("inlet", 1.0), ("outlet_1", -r), ("outlet_2", -(1.0 - r)))
    branch = part.turbulent(terms, part.rated())
    part.branches["main"] = branch
    one, two = part.ports["outlet_1"], part.ports["outlet_2"]
    candidates = (
        (0.0, ((one, 1.0 - r), (two, -(1.0 - r)))),
        (0.0, ((two, r), (one, -r))),
    )
    part.net.devices.append(Modulator(part.id, branch, candidates, mirrored=True))


def hydraulic_fuse(part: Part) -> None:
    """Open both ways until it has closed."""
    closed = part.state["closed"] and part.fault != "stuck_open"
    if not closed and part.fault != "stuck_closed":
        part.branches["main"] = part.passage("inlet", "outlet", part.rated())


def filter_(part: Part) -> None:
    """The element, and a bypass that opens at bypass_pressure and passes as much again.

    A blocked element leaves the bypass.
    """
    if part.fault != "blocked":
        part.branches["main"] = part.passage("inlet", "outlet", part.rated())
    bypass = part.settings["bypass_pressure"]
    if bypass is not None:
        part.branches["bypass"] = part.passage(
            "inlet", "outlet", part.rated(), crack=bypass, reverse=0.0
        )


def plain_passage(part: Part) -> None:
    """A passage from A to B of rated_flow at rated_drop."""
    if part.fault != "blocked":
        part.branches["main"] = part.passage("A", "B", part.rated())


def hose(part: Part) -> None:
    """A line if bore and length are given, else a passage of rated_flow at rated_drop."""
    s = part.settings
    if part.fault == "ruptured":
        part.net.fix(part.ports["A"], 0.0, "air", part.id)
        part.net.fix(part.ports["B"], 0.0, "air", part.id)
        return
    if part.fault == "blocked":
        return
    if s["bore"] is None or s["length"] is None:
        plain_passage(part)
        return
    branch = part.net.pipe(
        part.ports["A"],
        part.ports["B"],
        bore=s["bore"],
        length=s["length"],
        roughness=1.5e-6,
        density=part.liquid.density,
        viscosity=part.liquid.viscosity,
    )
    part.branches["main"] = part.tap((("A", 1.0), ("B", -1.0)), branch)


FLOW_VALVES = {
    "restrictor": restrictor,
    "adjustable_restrictor": adjustable_restrictor,
    "one_way_restrictor": one_way_restrictor,
    "flow_regulator": flow_regulator,
    "flow_divider": flow_divider,
    "hydraulic_fuse": hydraulic_fuse,
    "filter": filter_,
    "cooler": plain_passage,
    "quick_coupling": plain_passage,
    "hose": hose,
}
