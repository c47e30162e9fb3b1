"""One line about what the pointer is on: its name and what is read there."""

from __future__ import annotations

from analysis.circuit import Circuit, Component
from editor.display_units import DisplayUnits
from editor.live_analysis import LiveAnalysis


class Descriptions:
    """Words for ports, components and lines, in the user's units."""

    def __init__(self, circuit: Circuit, live: LiveAnalysis, units: DisplayUnits) -> None:
        self._circuit = circuit
        self._live = live
        self._units = units

    def describe(self, name: str) -> str:
        """A line about `ID.PORT` or an id; empty if there is no such thing."""
        if name in self._circuit.lines:
            return self._line(name)
        if name in self._circuit.components:
            return self._component(self._circuit.components[name])
        return self._port(name)

    def _component(self, component: Component) -> str:
        title = component.declared.title
        named = f" {component.name}," if component.name else ""
        return f"{component.id}{named} {title[0].lower()}{title[1:]}"

    def _port(self, port: str) -> str:
        readings = self._live.readings
        if readings is None or port not in readings.pressures:
            return port
        pressure, inflow = readings.pressures[port], readings.inflows.get(port)
        if pressure is None:
            return f"{port}: pressure undetermined"
        text = f"{port}: {self._units.format(pressure, 'pressure')}"
        if inflow:
            way = "in" if inflow > 0 else "out"
            text += f", {self._units.format(abs(inflow), 'flow')} {way}"
        return text

    def _line(self, identifier: str) -> str:
        line = self._circuit.lines[identifier]
        text = f"{identifier}, {line.role} line from {line.start} to {line.end}"
        readings = self._live.readings
        reading = readings.lines.get(identifier) if readings is not None else None
        if reading is None:
            return text
        parts = []
        if reading.flow is not None:
            parts.append(self._units.format(abs(reading.flow), "flow"))
        if reading.pressure_drop is not None:
            parts.append(f"drop {self._units.format(abs(reading.pressure_drop), 'pressure')}")
        return f"{text}: {', '.join(parts)}" if parts else text
