"""Reads a circuit file for the second formulation: json and pint's own registry, nothing else.

Shares no code with `analysis` or `symbols`: units, defaults and lever labels are
understood here a second time.
"""

from __future__ import annotations

import copy
import json
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import log10
from pathlib import Path
from typing import Any

import pint

UNITS = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
UNITS.define("stroke = [] = strokes")
UNITS.define("@alias turn = rev")
UNITS.define("imp_gal = 4.54609 * liter")  # exact, UK Weights and Measures (from memory)

SAMPLES = Path(__file__).resolve().parent.parent.parent / "sample_circuits"

DEFAULTS: dict[str, Any] = {
    # what the contract states, or what any reader would take for granted
    "discharge_coefficient": 0.61,  # sharp-edged orifice, ISO 5167-2 (from memory)
    "opening": 1.0,
    "running": True,
    "air_pressure": "0 Pa",
    "load": "0 N",
    "friction": "0 N",
    "lock": "none",
    "extension": "0 m",
    "cracking_pressure": "0 Pa",
}
FIRST_POSITIONS = {"shutoff_valve": "open", "valve_4_3": "centre"}


@lru_cache(maxsize=4096)
def si(text: str | float) -> float:
    """A quantity as it is written, in SI base units (angles in radians)."""
    if not isinstance(text, str):
        return float(text)
    return float(UNITS.Quantity(text).to_base_units().magnitude)


def value(raw: Any) -> float:
    """A written value in SI; a range counts with its middle, as the issue asks."""
    if isinstance(raw, dict):
        low, high = raw["between"]
        return (si(low) + si(high)) / 2
    return si(raw)


def at_position(raw: Any, position: float) -> float:
    """A load: one force, or a table of [position, force] read by straight interpolation."""
    if not isinstance(raw, list):
        return value(raw)
    rows = [(si(x), si(y)) for x, y in raw]
    if position <= rows[0][0]:
        return rows[0][1]
    for (x0, y0), (x1, y1) in pairwise(rows):
        if position <= x1:
            return y0 + (y1 - y0) * (position - x0) / (x1 - x0)
    return rows[-1][1]


@dataclass(frozen=True)
class Liquid:
    """Density [kg/m3] and kinematic viscosity [m2/s]."""

    density: float
    viscosity: float


# (viscosity [mm2/s] at 40 degC, at 100 degC, density at 15 degC, fall of density per kelvin)
# MIL-PRF-5606H table I minima and ISO 3448 mid-point; the rest typical values (from memory)
LIQUIDS = {
    "MIL-PRF-5606": (13.2, 4.90, 872.0, 0.72),
    "ISO VG 32": (32.0, 5.4, 870.0, 0.65),
}


def liquid(kind: str, celsius: float) -> Liquid:
    """Viscosity by the Walther equation of ASTM D341 through the two points of the liquid."""
    at_40, at_100, density, fall = LIQUIDS[kind]
    kelvin = [313.15, 373.15]
    y = [log10(log10(v + 0.7)) for v in (at_40, at_100)]
    b = (y[0] - y[1]) / (log10(kelvin[1]) - log10(kelvin[0]))
    a = y[0] + b * log10(kelvin[0])
    viscosity = 10 ** (10 ** (a - b * log10(celsius + 273.15))) - 0.7
    return Liquid(density - fall * (celsius - 15.0), viscosity * 1e-6)


class Part:
    """A component as written, with SI values on demand."""

    def __init__(self, record: dict[str, Any]) -> None:
        self.id: str = record["id"]
        self.kind: str = record["kind"]
        self.settings: dict[str, Any] = dict(record.get("settings", {}))
        self.state: dict[str, Any] = dict(record.get("state", {}))
        self.labels: dict[str, str] = record.get("labels", {})

    def __getitem__(self, name: str) -> float:
        raw = self.state.get(name, self.settings.get(name, DEFAULTS.get(name)))
        if raw is None:
            raise KeyError(f"{self.id}.{name}")
        return value(raw)

    def has(self, name: str) -> bool:
        """Whether the setting is written."""
        return self.settings.get(name) is not None

    @property
    def running(self) -> bool:
        """Whether a pump turns and is whole."""
        return bool(self.state.get("running", True)) and self.fault != "no_output"

    @property
    def fault(self) -> str:
        """The failure that is put in, or none."""
        return str(self.state.get("fault", "none"))

    @property
    def position(self) -> str:
        """The lever position by the contract's word, whatever the label."""
        written = self.state.get("position", FIRST_POSITIONS.get(self.kind, "right"))
        by_label = {label: position for position, label in self.labels.items()}
        return str(by_label.get(written, written))

    @property
    def load(self) -> float:
        """Force against extension where the rod stands [N]."""
        return at_position(self.settings.get("load", "0 N"), self["extension"])


class Sheet:
    """A circuit file with changes applied."""

    def __init__(self, record: dict[str, Any]) -> None:
        self.parts = {r["id"]: Part(r) for r in record["components"]}
        self.lines: list[dict[str, Any]] = record["lines"]
        fluid = record["fluid"]
        self.fluid_kind: str = fluid["kind"]
        celsius = UNITS.Quantity(fluid["temperature"]).to("degC").magnitude
        self.liquid = liquid(fluid["kind"], float(celsius))


LOCK_STATES = ("locked", "released")


def read(name: str, changes: dict[str, dict[str, Any]] | None = None) -> Sheet:
    """A sample, with `changes` {id: {setting or state: value}} as in a procedure's `set`."""
    record = json.loads((SAMPLES / f"{name}.circuit.json").read_text(encoding="utf-8"))
    return Sheet(changed(record, changes or {}))


def changed(record: dict[str, Any], changes: dict[str, dict[str, Any]]) -> dict[str, Any]:
    """The file's record with the changes written into it."""
    record = copy.deepcopy(record)
    by_id = {r["id"]: r for r in record["components"] + record["lines"]}
    states = {"running", "extension", "position", "volume", "fluid_volume", "fault", "opening"}
    for identifier, values in changes.items():
        for name, new in values.items():
            is_state = name in states or (name == "lock" and new in LOCK_STATES)
            by_id[identifier].setdefault("state" if is_state else "settings", {})[name] = new
    return record
