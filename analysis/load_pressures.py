"""The pressure that an actuator needs at a port to move its load, from statics."""

from __future__ import annotations

from math import pi
from typing import Any

from analysis.circuit import Component
from analysis.resolved import resolve_element


def load_pressures(part: Component) -> dict[str, float]:
    """Port -> pressure [Pa] that moves the greatest load there, with nothing at the other port.

    (load + friction) / area; the torque over the displacement. Ports that no load opposes are
    left out. Part: a cylinder, a motor or a semi-rotary actuator.
    """
    settings = resolve_element(part).settings
    if part.kind in ("hydraulic_motor", "semi_rotary_actuator"):
        pressure = float(settings["load_torque"]) / float(settings["displacement"])
        return {"A": pressure, "B": pressure} if pressure > 0.0 else {}
    loads, friction = _loads(settings["load"]), float(settings["friction"])
    piston = pi / 4.0 * float(settings["bore"]) ** 2
    if part.kind == "cylinder_single_acting":
        needed = {"cap": (max(loads) + float(settings["spring_preload"]) + friction) / piston}
    else:
        annulus = piston - pi / 4.0 * float(settings["rod_diameter"]) ** 2
        out, home = ("cap", "rod") if part.kind == "cylinder" else ("left", "right")
        outward = piston if part.kind == "cylinder" else annulus
        needed = {
            out: (max(loads) + friction) / outward if max(loads) > 0.0 else 0.0,
            home: (friction - min(loads)) / annulus if min(loads) < 0.0 else 0.0,
        }
    return {port: pressure for port, pressure in needed.items() if pressure > 0.0}


def _loads(load: Any) -> list[float]:
    """The loads along the travel [N], positive against extension."""
    return [float(force) for _, force in load] if isinstance(load, tuple) else [float(load)]
