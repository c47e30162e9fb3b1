"""For every design rule a circuit that breaks it, and its twin that does not."""

from __future__ import annotations

from collections.abc import Callable

from analysis.circuit import Circuit

Pair = tuple[Circuit, Circuit]
PAIRS: dict[str, Callable[[bool], Circuit]] = {}
"""Rule -> builder; called with True it breaks the rule, with False it is the twin."""


def pair(builder: Callable[[bool], Circuit]) -> Callable[[bool], Circuit]:
    """Enter a builder under the name of its rule."""
    PAIRS[builder.__name__] = builder
    return builder


def power_pack() -> Circuit:
    """Reservoir, pump, relief valve, check valve, filter, lever valve, jack: nothing wrong."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1", capacity="20 L", volume="12 L")
    circuit.add("fixed_pump", id="0P1", displacement="2 cm^3/rev")
    circuit.add("relief_valve", id="0V1", set_pressure="100 bar")
    circuit.add("check_valve", id="0V2")
    circuit.add("filter", id="0Z2")
    circuit.add("valve_4_3", id="1V1", centre="tandem")
    circuit.components["1V1"].labels = {"left": "OUT", "centre": "HOLD", "right": "IN"}
    circuit.add("cylinder", id="1A1", name="tilting jack")
    circuit.connect("0Z1.standpipe", "0P1.inlet", "L1", role="suction")
    circuit.connect("0P1.outlet", "0V1.inlet", "L2")
    circuit.connect("0V1.outlet", "0Z1.return", "L3", role="return")
    circuit.connect("0P1.outlet", "0V2.inlet", "L4")
    circuit.connect("0V2.outlet", "1V1.P", "L5")
    circuit.connect("1V1.T", "0Z2.inlet", "L6", role="return")
    circuit.connect("0Z2.outlet", "0Z1.return", "L7", role="return")
    circuit.connect("1V1.A", "1A1.cap", "L8")
    circuit.connect("1V1.B", "1A1.rod", "L9")
    return circuit


@pair
def pump_without_relief(broken: bool) -> Circuit:
    """The relief valve stands behind a shut-off valve: it may be cut off from the pump."""
    circuit = power_pack()
    if broken:
        circuit.remove("L2")
        circuit.add("shutoff_valve", id="0V3")
        circuit.connect("0P1.outlet", "0V3.A")
        circuit.connect("0V3.B", "0V1.inlet")
    return circuit


@pair
def relief_above_rating(broken: bool) -> Circuit:
    """A gauge that ends at 60 bar on a line relieved at 100."""
    circuit = power_pack()
    circuit.add("pressure_gauge", id="0S1", range="60 bar" if broken else "160 bar")
    circuit.connect("0P1.outlet", "0S1.A")
    return circuit


@pair
def relief_below_working_pressure(broken: bool) -> Circuit:
    """A compensated pump that cuts off at 120 bar behind a relief valve at 100."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1")
    knee, cutoff = ("110 bar", "120 bar") if broken else ("80 bar", "90 bar")
    circuit.add("compensated_pump", id="0P1", knee_pressure=knee, cutoff_pressure=cutoff)
    circuit.add("relief_valve", id="0V1", set_pressure="100 bar")
    circuit.connect("0Z1.supply", "0P1.inlet")
    circuit.connect("0P1.outlet", "0V1.inlet")
    circuit.connect("0V1.outlet", "0Z1.return")
    return circuit


@pair
def trapped_volume(broken: bool) -> Circuit:
    """A pilot-operated check valve shuts the jack's cap in; the twin has a thermal relief."""
    circuit = power_pack()
    circuit.remove("L8")
    circuit.add("pilot_check_valve", id="1V2")
    circuit.connect("1V1.A", "1V2.inlet")
    circuit.connect("1V2.outlet", "1A1.cap")
    circuit.connect("1A1.rod", "1V2.pilot")
    if not broken:
        circuit.add("relief_valve", id="1V3", set_pressure="150 bar")
        circuit.connect("1A1.cap", "1V3.inlet")
        circuit.connect("1V3.outlet", "0Z1.return")
    return circuit


@pair
def rod_end_intensification(broken: bool) -> Circuit:
    """A thick rod and a throttle in the rod line; the twin throttles the cap line."""
    circuit = power_pack()
    circuit.set_value("1A1", "bore", "50 mm")
    circuit.set_value("1A1", "rod_diameter", "40 mm")
    circuit.remove("L9" if broken else "L8")
    circuit.add("restrictor", id="1V2")
    circuit.connect("1V1.B" if broken else "1V1.A", "1V2.A")
    circuit.connect("1V2.B", "1A1.rod" if broken else "1A1.cap")
    return circuit


@pair
def accumulator_stays_charged(broken: bool) -> Circuit:
    """An accumulator behind a check valve and a closed centre, without a release valve."""
    circuit = power_pack()
    circuit.set_value("1V1", "centre", "closed")
    circuit.add("accumulator", id="0Z3")
    circuit.connect("0V2.outlet", "0Z3.fluid")
    circuit.remove("1V1")
    if not broken:
        circuit.add("shutoff_valve", id="0V3", position="closed")
        circuit.connect("0Z3.fluid", "0V3.A")
        circuit.connect("0V3.B", "0Z1.return")
    return circuit


@pair
def check_valve_blocks_only_way(broken: bool) -> Circuit:
    """The check valve behind the pump is the wrong way round."""
    circuit = power_pack()
    if broken:
        circuit.remove("L4")
        circuit.remove("L5")
        circuit.connect("0P1.outlet", "0V2.outlet", "L4")
        circuit.connect("0V2.inlet", "1V1.P", "L5")
    return circuit


@pair
def pumps_without_check_valves(broken: bool) -> Circuit:
    """A second pump joins the first one's delivery, ahead of or behind a check valve."""
    circuit = power_pack()
    circuit.add("fixed_pump", id="0P2")
    circuit.connect("0Z1.standpipe", "0P2.inlet")
    if broken:
        circuit.connect("0P2.outlet", "0V2.outlet")
    else:
        circuit.add("check_valve", id="0V4")
        circuit.connect("0P2.outlet", "0V4.inlet")
        circuit.connect("0V4.outlet", "0V2.outlet")
    return circuit


@pair
def hand_pump_without_check(broken: bool) -> Circuit:
    """A hand pump straight on the lever valve."""
    circuit = power_pack()
    circuit.add("hand_pump", id="0P2")
    circuit.connect("0Z1.supply", "0P2.inlet")
    if broken:
        circuit.connect("0P2.outlet", "1V1.P")
    else:
        circuit.add("check_valve", id="0V4")
        circuit.connect("0P2.outlet", "0V4.inlet")
        circuit.connect("0V4.outlet", "1V1.P")
    return circuit


@pair
def no_filter(broken: bool) -> Circuit:
    """The return filter is left out."""
    circuit = power_pack()
    if broken:
        circuit.remove("0Z2")
        circuit.connect("1V1.T", "0Z1.return")
    return circuit


@pair
def filter_passed_backward(broken: bool) -> Circuit:
    """A filter in the line of the jack's cap; the twin leads the way back past it."""
    circuit = power_pack()
    circuit.remove("L8")
    circuit.add("filter", id="1Z1")
    circuit.connect("1V1.A", "1Z1.inlet")
    circuit.connect("1Z1.outlet", "1A1.cap")
    if not broken:
        circuit.add("check_valve", id="1V2")
        circuit.connect("1A1.cap", "1V2.inlet")
        circuit.connect("1V2.outlet", "1V1.A")
    return circuit


@pair
def emergency_pump_above_standpipe(broken: bool) -> Circuit:
    """The hand pump draws from the standpipe; in the twin from the bottom."""
    circuit = hand_pump_without_check(False)
    for line in circuit.lines_at("0P2.inlet"):
        circuit.remove(line.id)
    circuit.connect("0Z1.standpipe" if broken else "0Z1.supply", "0P2.inlet")
    return circuit


@pair
def reserve_not_kept(broken: bool) -> Circuit:
    """The power pump draws from the bottom too."""
    circuit = emergency_pump_above_standpipe(False)
    if broken:
        circuit.remove("L1")
        circuit.connect("0Z1.supply", "0P1.inlet", "L1")
    return circuit


@pair
def reservoir_too_small(broken: bool) -> Circuit:
    """Rod of 28 mm over 2 m of stroke: 1.23 L more in the cap than comes from the rod end."""
    circuit = power_pack()
    for name, value in (("bore", "50 mm"), ("rod_diameter", "28 mm"), ("stroke", "2 m")):
        circuit.set_value("1A1", name, value)
    circuit.set_value("0Z1", "volume", "1.2 L" if broken else "1.3 L", state=True)
    circuit.set_value("0Z1", "reserve", "0.5 L")
    return circuit


@pair
def line_velocity(broken: bool) -> Circuit:
    """3 L/min through 3 mm is 7.1 m/s, usual in a pressure line but not in a return line."""
    circuit = power_pack()
    circuit.set_value("0P1", "speed", "1500 rpm")
    circuit.set_value("L6", "bore", "3 mm" if broken else "8 mm")
    circuit.set_value("L6", "length", "0.5 m")
    return circuit


@pair
def reynolds_between(broken: bool) -> Circuit:
    """3 L/min at 20 mm²/s: in 1 mm Re 3183, in 2 mm Re 1592."""
    circuit = power_pack()
    # 10 mm2/s at 40 degC: v d / nu with v = 3 L/min over 2 mm, 3183; over 4 mm, 1592
    circuit.set_field("", "fluid", {"kind": "ISO VG 10", "temperature": "40 degC"})
    circuit.set_value("0P1", "speed", "1500 rpm")
    circuit.set_value("L6", "bore", "2 mm" if broken else "4 mm")
    circuit.set_value("L6", "length", "0.5 m")
    return circuit


@pair
def suction_too_low(broken: bool) -> Circuit:
    """A long thin suction line."""
    circuit = power_pack()
    circuit.set_value("L1", "bore", "5 mm" if broken else "15 mm")
    circuit.set_value("L1", "length", "2 m")
    return circuit


@pair
def seals_against_fluid(broken: bool) -> Circuit:
    """Natural rubber in mineral fluid."""
    circuit = power_pack()
    circuit.set_value("1A1", "seals", "natural rubber" if broken else "nitrile")
    return circuit


@pair
def mixed_fluids(broken: bool) -> Circuit:
    """An emergency pump with another fluid, joined by a shuttle valve."""
    circuit = power_pack()
    circuit.remove("L8")
    circuit.add("reservoir", id="2Z1", liquid="phosphate ester" if broken else "MIL-PRF-5606")
    circuit.add("hand_pump", id="2P1")
    circuit.add("shuttle_valve", id="1V2")
    circuit.connect("2Z1.supply", "2P1.inlet")
    circuit.connect("2P1.outlet", "1V2.inlet_2")
    circuit.connect("1V1.A", "1V2.inlet_1")
    circuit.connect("1V2.outlet", "1A1.cap")
    return circuit


@pair
def gear_held_by_pressure_alone(broken: bool) -> Circuit:
    """A gear leg without a lock at its extended end."""
    circuit = power_pack()
    circuit.set_field("1A1", "name", "left main gear leg")
    circuit.set_value("1A1", "lock", "retracted" if broken else "both")
    return circuit


@pair
def unlabelled_lever(broken: bool) -> Circuit:
    """One position of the lever has no word."""
    circuit = power_pack()
    if broken:
        circuit.set_field("1V1", "labels", {"left": "OUT", "right": "IN"})
    return circuit


@pair
def identification_missing(broken: bool) -> Circuit:
    """A valve with the letter of a pump."""
    circuit = power_pack()
    circuit.rename("0V2", "0P7" if broken else "0V7")
    return circuit


@pair
def identification_duplicated(broken: bool) -> Circuit:
    """Two parts of one name."""
    circuit = power_pack()
    circuit.set_field("0V1", "name", "main valve")
    circuit.set_field("1V1", "name", "Main valve" if broken else "jack valve")
    return circuit


@pair
def crossing_like_joint(broken: bool) -> Circuit:
    """A line turns on another; in the twin it crosses it straight."""
    circuit = Circuit()
    for name, at in (("0Z1", (0, 10)), ("0Z2", (20, 10)), ("0Z3", (10, 0)), ("0Z4", (16, 20))):
        circuit.add("junction", id=name, at=at)
    circuit.connect("0Z1.A", "0Z2.A")
    corners = [(10, 10), (16, 10)] if broken else [(10, 12), (16, 12)]
    circuit.connect("0Z3.A", "0Z4.A", via=corners)
    return circuit
