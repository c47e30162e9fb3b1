"""Numbers of the method, each with its unit and reason, in one place."""

from typing import Final

ATMOSPHERE: Final = 101_325.0
"""Standard atmosphere [Pa]; gauge pressures add it to become absolute (ISO 2533)."""

ROUNDING: Final = 10.0
"""Pressure difference [Pa] below which an orifice law is rounded off to a straight line.

A square root has no finite slope at zero. At 1 kPa the rounding costs 25 parts in a million.
"""

STIFF: Final = 1e-5
"""Conductance [m3/(s Pa)] that stands for "no loss": 10 Pa at 1e-4 m3/s.

It is used where the contract gives an element no pressure loss at all, for the limit of
a hand pump, and for the mobility of actuators whose load alone opposes them.
"""

SEEPAGE: Final = 1e-22
"""Conductance [m3/(s Pa)] of every node to absolute zero.

It makes the least pressure the answer where a range of pressures is possible (behind a
closed check valve), and its flow, 1e-15 m3/s at 10 MPa, is below anything reported.
"""

NO_FLOW: Final = 1e-12
"""Flows below this [m3/s] are reported as none: 0.09 mL a day."""

RUNAWAY: Final = 0.1
"""Flow [m3/s] through what stands for "no loss" from which on nothing is said to limit it.

That is 6000 L/min, at 0.1 bar of a loss that is none: no reading.
"""

UNLIMITED: Final = 1e10
"""Pressure [Pa] at which a node counts as driven without any limit."""

WITHOUT_LIMIT: Final = 0.1 * UNLIMITED
"""Pressure [Pa] from which on nothing is said to limit it: no reading, ten times what any
hydraulic part stands.
"""

DEAD_HEAD: Final = 1.01 * WITHOUT_LIMIT
"""Pressure difference [Pa] at which, over time, a pump that nothing limits stops delivering.

Beyond `WITHOUT_LIMIT` whatever its inlet's pressure: so its outlet has no reading then.
"""

LEAK_COEFFICIENT: Final = 0.61
"""Discharge coefficient of a leak, as a sharp-edged orifice (ISO 5167-2, from memory)."""

THROTTLE_TOLERANCE: Final = 0.5
"""What a throttling valve's opening difference may be wrong by [Pa]."""

NEAR_EVENT: Final = 200.0
"""A step may go this far [Pa] beyond the pressure at which a valve switches or a lock lets go."""

SOFT: Final = 1e-10
"""Conductance [m3/(s Pa)] that takes the flow at a node driven beyond `UNLIMITED`."""
