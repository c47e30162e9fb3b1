"""What is read at a component besides pressures and flows: motion, force, effort, state."""

from __future__ import annotations

from collections.abc import Container

from analysis.constants import NO_FLOW
from analysis.devices import Lock, Modulator, PilotCheck, Unloading
from analysis.laws.actuators import motor_leakage_share, piston_area
from analysis.line_flows import has_no_limit
from analysis.network import Network
from analysis.newton import Solution
from analysis.part import Part
from analysis.pulsation import is_returning
from analysis.steady import Instant

Quantities = dict[str, float | str | bool | None]

OPENED_BY_PRESSURE = (
    "check_valve",
    "pilot_check_valve",
    "relief_valve",
    "reducing_valve",
    "sequence_valve",
    "counterbalance_valve",
    "priority_valve",
    "unloading_valve",
)
"""Kinds of which a reading and a signal tell whether they are open."""

_OPENED = frozenset(OPENED_BY_PRESSURE)
_PUMPS = frozenset(("fixed_pump", "compensated_pump", "hand_pump"))

MOVING = {
    "cylinder": ("cap", "rod"),
    "cylinder_single_acting": ("cap",),
    "cylinder_double_rod": ("left", "right"),
    "semi_rotary_actuator": ("A", "B"),
}


def read_part(
    part: Part,
    network: Network,
    solution: Solution,
    pressures: dict[str, float | None],
    instant: Instant,
) -> Quantities:
    """The readings of one component, SI; empty for a part that has none of its own."""
    values: Quantities = {}
    kind = part.kind
    if kind in MOVING:
        _read_actuator(part, network, solution, pressures, values)
    elif kind == "hydraulic_motor":
        flow = _flow(part, "through", network, solution)
        taken = part.settings["displacement"] * (1.0 + motor_leakage_share(part))
        values["velocity"] = None if flow is None else flow / taken
        values["torque"] = _torque(part, pressures)
    elif kind in _PUMPS:
        _read_pump(part, pressures, instant, values)
    elif kind in _OPENED:
        values["open"] = _is_open(part, network, solution)
    elif kind == "reservoir":
        values["volume"] = part.state["volume"]
    elif kind == "accumulator":
        values["fluid_volume"] = part.state["fluid_volume"]
    if "position" in part.state:
        values["position"] = part.state["position"]
    if kind == "hydraulic_fuse":
        values["closed"] = bool(part.state["closed"])
    return values


def areas(part: Part) -> tuple[tuple[str, float], ...]:
    """(port, signed area) of a moving member: force = sum(area * pressure)."""
    s = part.settings
    if part.kind == "cylinder":
        rod = piston_area(s["bore"], s["rod_diameter"])
        return (("cap", piston_area(s["bore"])), ("rod", -rod))
    if part.kind == "cylinder_single_acting":
        return (("cap", piston_area(s["bore"])),)
    if part.kind == "cylinder_double_rod":
        area = piston_area(s["bore"], s["rod_diameter"])
        return (("left", area), ("right", -area))
    return (("A", s["displacement"]), ("B", -s["displacement"]))


def _flow(part: Part, name: str, network: Network, solution: Solution) -> float | None:
    branch = part.branches.get(name)
    if branch is None:
        return 0.0
    if not part.net.dynamic and has_no_limit(network, solution, branch):
        return None
    return float(solution.q[network.row(branch)])


def _read_actuator(
    part: Part,
    network: Network,
    solution: Solution,
    pressures: dict[str, float | None],
    values: Quantities,
) -> None:
    terms = areas(part)
    values["extension"] = part.state["extension"]
    values["velocity"] = velocity_of(part, network, solution)
    force: float | None = 0.0
    for port, area in terms:
        pressure = pressures[f"{part.id}.{port}"]
        force = None if force is None or pressure is None else force + area * pressure
    values["torque" if part.kind == "semi_rotary_actuator" else "force"] = force
    if has_lock(part):
        values["lock"] = lock_of(part)


def velocity_of(part: Part, network: Network, solution: Solution) -> float | None:
    """Of a moving member [m/s or rad/s]; None where nothing limits it."""
    velocity = _flow(part, "stroke", network, solution)
    smallest = min(abs(area) for _, area in areas(part))
    if velocity is not None and abs(velocity) * smallest <= NO_FLOW:
        return 0.0
    return velocity


def has_lock(part: Part) -> bool:
    """Whether it is a cylinder with an end lock."""
    return part.kind == "cylinder" and part.settings["lock"] != "none"


def lock_of(part: Part) -> str:
    """`locked` while an end lock holds; `released` elsewhere."""
    return held_or_not(locks_of(part))


def locks_of(part: Part) -> list[Lock]:
    """The end locks of a part."""
    return [d for d in part.net.devices if isinstance(d, Lock) and d.owner == part.id]


def held_or_not(locks: list[Lock]) -> str:
    """`locked` while one of the locks holds; `released` else."""
    return "locked" if any(lock.held for lock in locks) else "released"


def _torque(part: Part, pressures: dict[str, float | None]) -> float | None:
    a, b = pressures[f"{part.id}.A"], pressures[f"{part.id}.B"]
    return None if a is None or b is None else (a - b) * float(part.settings["displacement"])


def _read_pump(
    part: Part, pressures: dict[str, float | None], instant: Instant, values: Quantities
) -> None:
    values["running"] = bool(part.state["running"])
    values["starved"] = part.id in instant.starved or part.id in instant.dry
    if part.kind == "hand_pump":
        outlet, inlet = pressures[f"{part.id}.outlet"], pressures[f"{part.id}.inlet"]
        values["effort"] = effort_of(part, outlet, inlet, instant.dry)


def effort_of(
    part: Part, outlet: float | None, inlet: float | None, dry: Container[str]
) -> float | None:
    """At the handle of a hand pump [N], from the pressures at its ports [Pa] and the pumps
    without fluid; None where nothing limits the pressure."""
    s = part.settings
    if "delivery" not in part.branches or part.id in dry or is_returning(part):
        return 0.0
    if outlet is None or inlet is None:
        return None
    return float(max((outlet - inlet) * s["piston_area"] / s["lever_ratio"], 0.0))


def _is_open(part: Part, network: Network, solution: Solution) -> bool:
    own = [device for device in part.net.devices if device.owner == part.id]
    if any(isinstance(device, PilotCheck | Unloading) and device.open for device in own):
        return True
    if part.kind == "unloading_valve":
        return False
    branch = part.branches.get("main")
    if branch is None:
        return False
    if abs(float(solution.q[network.row(branch)])) > NO_FLOW:
        return True
    modulated = any(isinstance(device, Modulator) for device in own)
    # a throttling valve without flow is open if it would pass some at once
    # numpy has booleans of its own, which no JSON takes
    return modulated and bool(network.parameters["turbulent"][1, branch.row] == 0.0)
