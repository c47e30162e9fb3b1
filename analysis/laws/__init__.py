"""How much each kind passes: one function a kind, which adds its branches to the network.

A new kind of component gets its law here and its declaration in `symbols`. `LAWS` maps
the kind's name to its law; a test walks the catalogue and fails where one is missing.
"""

from analysis.laws.actuators import ACTUATORS
from analysis.laws.directional import DIRECTIONAL_VALVES
from analysis.laws.flow import FLOW_VALVES
from analysis.laws.leaks import add_leaks
from analysis.laws.pressure import PRESSURE_VALVES
from analysis.laws.pumps import PUMPS
from analysis.laws.storage import STORAGE

LAWS = {
    **PUMPS,
    **ACTUATORS,
    **DIRECTIONAL_VALVES,
    **PRESSURE_VALVES,
    **FLOW_VALVES,
    **STORAGE,
}

__all__ = ["LAWS", "add_leaks"]
