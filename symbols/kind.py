"""What a kind of component is made of: ports, settings, states, failure modes, drawing.

Every record validates itself when it is made, so a wrong declaration fails at import.
Quantities are written as a user would write them ("1000 psi"); `analysis.quantities`
turns them into SI. Turning and mirroring of a placed symbol are defined here once,
for the canvas, the exports and the layout alike.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from symbols.strokes import Point, Stroke, stroke_points

Facing = Literal["left", "right", "up", "down"]
PortRole = Literal["working", "pilot", "drain"]

DIMENSIONS: Mapping[str, str] = {
    "pressure": "Pa",
    "flow": "m^3/s",
    "length": "m",
    "area": "m^2",
    "volume": "m^3",
    "force": "N",
    "stiffness": "N/m",
    "torque": "N*m",
    "angle": "rad",
    "displacement": "m^3/rad",
    "speed": "rad/s",
    "rate": "1/s",
    "velocity": "m/s",
    "time": "s",
    "temperature": "K",
    "number": "",
}
"""Dimension name -> SI unit of machine output. `number` has no unit."""

WORDS = ("choice", "text", "flag")
"""Dimensions of settings that are no quantity at all."""


@dataclass(frozen=True)
class Port:
    """A place where a line may be connected.

    `at` is in whole modules from the symbol's origin, unturned; `facing` is the side on
    which a line leaves.
    """

    name: str
    at: tuple[int, int]
    facing: Facing
    role: PortRole = "working"

    def __post_init__(self) -> None:
        if any(int(c) != c for c in self.at):
            raise ValueError(f"port {self.name}: {self.at} is not on the grid")


@dataclass(frozen=True)
class Setting:
    """A setting or a state of a kind.

    `default`, `minimum`, `maximum` are written as a user would write them; a default of
    None means "not given" (allowed only if `optional`). `positive` excludes zero.
    `table` allows a list of [position, value] pairs instead of one value.
    """

    title: str
    dimension: str
    default: str | float | bool | None
    minimum: str | float | None = None
    maximum: str | float | None = None
    positive: bool = False
    optional: bool = False
    table: bool = False
    choices: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.dimension not in DIMENSIONS and self.dimension not in WORDS:
            raise ValueError(f"{self.title}: unknown dimension {self.dimension}")
        if self.dimension == "choice" and self.default not in self.choices:
            raise ValueError(f"{self.title}: default {self.default!r} is not a choice")
        if self.default is None and not self.optional:
            raise ValueError(f"{self.title}: a setting without default must be optional")


@dataclass(frozen=True)
class Look:
    """What a symbol's drawing may depend on.

    `choices` holds the settings and states that are words (operator, centre, position,
    lock, fault); `flags` those that are true or false (running, closed); `fraction` is
    the extension over stroke, or the volume over capacity, from 0 to 1; `opening` that
    of an adjustable restrictor; `reserve` the share of a reservoir's capacity that lies
    below the mouth of its standpipe.
    """

    choices: Mapping[str, str] = field(default_factory=dict)
    flags: Mapping[str, bool] = field(default_factory=dict)
    fraction: float = 0.0
    opening: float = 1.0
    reserve: float = 0.2


@dataclass(frozen=True)
class Zone:
    """A part of the symbol that works a state when clicked.

    `rectangle` is (left, top, width, height) in modules, unturned; `value` None toggles
    a flag or steps to the next choice.
    """

    rectangle: tuple[float, float, float, float]
    state: str
    value: str | None = None


Drawing = Callable[[Look], tuple[Stroke, ...]]


def _no_zones(_look: Look) -> tuple[Zone, ...]:
    return ()


@dataclass(frozen=True)
class Kind:
    """A kind of component as the catalogue declares it."""

    name: str
    title: str
    family: str
    code: str
    """ISO 1219-2 class letter: P pump, A actuator, M motor, S sensor, V valve, Z other."""
    standard: str
    """Where the drawing comes from: clause of ISO 1219-1, or "from memory"."""
    ports: tuple[Port, ...]
    drawing: Drawing
    settings: Mapping[str, Setting] = field(default_factory=dict)
    states: Mapping[str, Setting] = field(default_factory=dict)
    faults: tuple[str, ...] = ()
    zones: Callable[[Look], tuple[Zone, ...]] = _no_zones
    keywords: str = ""
    """Other words a user may search the shelf for."""

    def __post_init__(self) -> None:
        names = [port.name for port in self.ports]
        if len(set(names)) != len(names):
            raise ValueError(f"{self.name}: two ports of one name")
        if set(self.settings) & set(self.states) - {"lock"}:
            raise ValueError(f"{self.name}: a name is both a setting and a state")
        if self.code not in ("P", "A", "M", "S", "V", "Z"):
            raise ValueError(f"{self.name}: {self.code} is no class letter")

    def port(self, name: str) -> Port:
        """The port of that name; KeyError if there is none."""
        for port in self.ports:
            if port.name == name:
                return port
        raise KeyError(name)

    def look(
        self,
        values: Mapping[str, Any] | None = None,
        states: Mapping[str, Any] | None = None,
        **more: Any,
    ) -> Look:
        """A `Look` with the kind's defaults, replaced by what is given.

        `values` are settings, and states too where no setting has their name. A state
        that shares its name with a setting (a cylinder's `lock`) can only be given in
        `states` and is found in the look as `lock_state`. `more` goes to `Look`.
        """
        merged: dict[str, Any] = {
            **{name: setting.default for name, setting in self.settings.items()},
            **{self._look_name(name): state.default for name, state in self.states.items()},
            **(values or {}),
            **{self._look_name(name): value for name, value in (states or {}).items()},
        }
        choices = {n: v for n, v in merged.items() if isinstance(v, str)}
        flags = {n: v for n, v in merged.items() if isinstance(v, bool)}
        return Look(choices, flags, **more)

    def _look_name(self, state: str) -> str:
        return f"{state}_state" if state in self.settings else state

    def bounds(self, look: Look | None = None) -> tuple[float, float, float, float]:
        """(left, top, width, height) of drawing and ports in modules, unturned."""
        points = [p for s in self.drawing(look or self.look()) for p in stroke_points(s)]
        points += [port.at for port in self.ports]
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        return min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)


def place(point: Point, at: Point, turn: int, mirror: bool) -> Point:
    """Where a point of a symbol comes to lie on the sheet.

    The symbol is first mirrored left to right (if `mirror`), then turned clockwise, as
    the reader sees it, by `turn` degrees (0, 90, 180, 270), then moved to `at`.

    >>> place((2, 1), (10, 10), 90, False)
    (9, 12)
    """
    x, y = point
    if mirror:
        x = -x
    for _ in range(turn // 90 % 4):
        x, y = -y, x
    return at[0] + x, at[1] + y


_CLOCKWISE: tuple[Facing, ...] = ("right", "down", "left", "up")


def place_facing(facing: Facing, turn: int, mirror: bool) -> Facing:
    """The side on which a port's line leaves once the symbol is mirrored and turned."""
    if mirror and facing in ("left", "right"):
        facing = "right" if facing == "left" else "left"
    return _CLOCKWISE[(_CLOCKWISE.index(facing) + turn // 90) % 4]
