"""A press with a driven pump and a hand pump beside it, small enough to know every answer."""

from analysis import Circuit

STROKE_VOLUME = 3.14159265358979 / 4 * 0.040**2 * 0.400
PUMP_FLOW = 5e-6 * 25.0
HAND_FLOW = 20e-6 * 0.5


def redundant_press(**cylinder) -> Circuit:
    """Either pump alone extends 1A1: 125 cm³/s of 0P1, 10 cm³/s of 0P2 into 503 cm³."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1", volume="20 L", capacity="30 L")
    circuit.add("fixed_pump", id="0P1", displacement="5 cm^3/rev", speed="1500 rpm",
                volumetric_efficiency=1.0, running=True)  # fmt: skip
    circuit.add("hand_pump", id="0P2", displacement="20 cm^3", rate="30 strokes/min",
                effort_limit="250 N", piston_area="3 cm^2", lever_ratio=10,
                running=True)  # fmt: skip
    circuit.add("check_valve", id="0V1")
    circuit.add("check_valve", id="0V2")
    circuit.add("relief_valve", id="0V3", set_pressure="60 bar", rated_flow="20 L/min")
    circuit.add("relief_valve", id="0V4", set_pressure="70 bar", rated_flow="20 L/min")
    circuit.add("junction", id="0Z2")
    circuit.add("pressure_gauge", id="0S1")
    circuit.add("cylinder", id="1A1", bore="40 mm", rod_diameter="20 mm", stroke="400 mm",
                load="500 N", **cylinder)  # fmt: skip
    pipe = {"bore": "8 mm", "length": "1 m"}
    for identifier, start, end in (
        ("L1", "0Z1.supply", "0P1.inlet"),
        ("L2", "0Z1.supply", "0P2.inlet"),
        ("L3", "0P1.outlet", "0V1.inlet"),
        ("L4", "0P2.outlet", "0V2.inlet"),
        ("L5", "0V1.outlet", "0Z2.A"),
        ("L6", "0V2.outlet", "0Z2.A"),
        ("L7", "0P1.outlet", "0V4.inlet"),
        ("L8", "0V4.outlet", "0Z1.return"),
        ("L9", "0Z2.A", "0V3.inlet"),
        ("L10", "0V3.outlet", "0Z1.return"),
        ("L11", "0Z2.A", "1A1.cap"),
        ("L12", "1A1.rod", "0Z1.return"),
        ("L13", "0Z2.A", "0S1.A"),
    ):
        circuit.connect(start, end, id=identifier, **pipe)
    extend = {"by": "100 s", "signal": "1A1.extension", "at_least": "399 mm"}
    circuit.set_field("", "procedures", [{"name": "extend", "expect": [extend]}])
    return circuit
