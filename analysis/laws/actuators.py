"""Cylinders, motors and semi-rotary actuators."""

from __future__ import annotations

from math import inf, pi
from typing import Any

import numpy as np

from analysis.constants import STIFF
from analysis.devices import Lock
from analysis.network import Branch
from analysis.part import Part

_AT_STOP = 1e-6
"""Share of the stroke within which a member counts as standing at its stop."""


def piston_area(bore: float, rod_diameter: float = 0.0) -> float:
    """Area [m2] of a piston of that bore [m], less the rod's."""
    return pi / 4.0 * (bore**2 - rod_diameter**2)


def load_at(load: Any, extension: float) -> float:
    """The load [N] at an extension [m]: one value, or straight between the rows of a table.

    Outside the table its end values hold.
    """
    if not isinstance(load, tuple):
        return float(load)
    positions, forces = zip(*load, strict=True)
    return float(np.interp(extension, positions, forces))


def stops(extension: float, stroke: float) -> tuple[bool, bool]:
    """Whether a member stands at its start, and at its end."""
    slack = _AT_STOP * stroke
    return extension <= slack, extension >= stroke - slack


def _held_ends(part: Part, extension: float, stroke: float) -> tuple[bool, bool]:
    """Which stops hold the member; over time the step's limits of velocity do that."""
    return (False, False) if part.net.dynamic else stops(extension, stroke)


def cylinder(part: Part) -> None:
    """Force p_cap A_cap - p_rod A_rod against load and friction, with end locks."""
    s, x = part.settings, part.state["extension"]
    if part.fault == "stuck":
        return
    cap, rod = piston_area(s["bore"]), piston_area(s["bore"], s["rod_diameter"])
    at_start, at_end = _held_ends(part, x, s["stroke"])
    load, friction = load_at(s["load"], x), s["friction"]
    branch = part.actuator(
        (("cap", cap), ("rod", -rod)),
        resistance=load,
        friction=friction,
        at_start=at_start,
        at_end=at_end,
    )
    if s["lock"] == "none":
        return
    at_start, at_end = stops(x, s["stroke"])
    for end, there, port, threshold in (
        ("retracted", at_start, "cap", load + friction),
        ("extended", at_end, "rod", load - friction),
    ):
        held = there and part.state["lock"] == "locked"
        if s["lock"] in (end, "both") and (held or part.net.dynamic):
            release = s["lock_release_pressure"]
            lock = Lock(part.id, branch, part.ports[port], release, threshold, end, held)
            part.net.devices.append(lock)
            if held:
                _bar(part, branch, end)


def _bar(part: Part, branch: Branch, end: str) -> None:
    """Let the member not leave that end."""
    column, value = (1, inf) if end == "retracted" else (2, -inf)
    row = list(part.net.rows["deadband"][branch.row])
    row[column] = value
    part.net.rows["deadband"][branch.row] = tuple(row)


def cylinder_single_acting(part: Part) -> None:
    """Cap pressure against spring, load and friction."""
    s, x = part.settings, part.state["extension"]
    if part.fault == "stuck":
        return
    at_start, at_end = _held_ends(part, x, s["stroke"])
    part.actuator(
        (("cap", piston_area(s["bore"])),),
        resistance=load_at(s["load"], x) + s["spring_preload"] + s["spring_rate"] * x,
        friction=s["friction"],
        at_start=at_start,
        at_end=at_end,
    )


def cylinder_double_rod(part: Part) -> None:
    """The same area on both sides; pressure at `left` extends."""
    s, x = part.settings, part.state["extension"]
    if part.fault == "stuck":
        return
    area = piston_area(s["bore"], s["rod_diameter"])
    at_start, at_end = _held_ends(part, x, s["stroke"])
    part.actuator(
        (("left", area), ("right", -area)),
        resistance=load_at(s["load"], x),
        friction=s["friction"],
        at_start=at_start,
        at_end=at_end,
    )


def motor_leakage_share(part: Part) -> float:
    """Leakage of a turning motor as a share of displacement times speed.

    As a pump's: (1 - efficiency) at rated pressure, in proportion to the pressure across,
    which the load torque sets: torque / displacement.
    """
    s = part.settings
    across = s["load_torque"] / s["displacement"]
    return float((1.0 - s["volumetric_efficiency"]) * across / s["rated_pressure"])


def hydraulic_motor(part: Part) -> None:
    """Turns when the pressure across overcomes the load torque, either way."""
    if part.fault == "stuck":
        return
    needed = part.settings["load_torque"] / part.settings["displacement"]
    part.branches["through"] = part.deadband(
        (("A", 1.0), ("B", -1.0)), STIFF, above=needed, below=-needed
    )


def semi_rotary_actuator(part: Part) -> None:
    """Torque (p_A - p_B) times displacement against a torque that opposes rotation."""
    s, angle = part.settings, part.state["extension"]
    if part.fault == "stuck":
        return
    at_start, at_end = _held_ends(part, angle, s["angle"])
    part.actuator(
        (("A", s["displacement"]), ("B", -s["displacement"])),
        resistance=0.0,
        friction=s["load_torque"],
        at_start=at_start,
        at_end=at_end,
    )


ACTUATORS = {
    "cylinder": cylinder,
    "cylinder_single_acting": cylinder_single_acting,
    "cylinder_double_rod": cylinder_double_rod,
    "hydraulic_motor": hydraulic_motor,
    "semi_rotary_actuator": semi_rotary_actuator,
}
