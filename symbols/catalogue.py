"""Every kind of component, in the order of the shelf."""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches
from types import MappingProxyType

from symbols.actuators import ACTUATORS
from symbols.check_valves import CHECK_VALVES
from symbols.conditioning import CONDITIONING
from symbols.connections import CONNECTIONS
from symbols.directional_valves import DIRECTIONAL_VALVES
from symbols.flow_valves import FLOW_VALVES
from symbols.instruments import INSTRUMENTS
from symbols.kind import Kind
from symbols.pressure_valves import PRESSURE_VALVES
from symbols.pumps import PUMPS
from symbols.storage import STORAGE

_ALL = (
    *STORAGE,
    *PUMPS,
    *ACTUATORS,
    *DIRECTIONAL_VALVES,
    *CHECK_VALVES,
    *PRESSURE_VALVES,
    *FLOW_VALVES,
    *CONDITIONING,
    *INSTRUMENTS,
    *CONNECTIONS,
)

KINDS: Mapping[str, Kind] = MappingProxyType({kind.name: kind for kind in _ALL})
"""Kind name -> kind, in the order of the shelf."""


class UnknownKind(KeyError):
    """No kind has that name; `mend` proposes the nearest ones."""

    def __init__(self, name: str) -> None:
        super().__init__(name)
        self.name = name
        near = get_close_matches(name, KINDS, n=3, cutoff=0.5)
        self.mend = (
            f"did you mean {' or '.join(near)}?"
            if near
            else "'standpipe kinds' lists every kind there is"
        )

    def __str__(self) -> str:
        return f"unknown kind {self.name!r}: {self.mend}"


def find_kind(name: str) -> Kind:
    """The kind of that name.

    Raises
    ------
    UnknownKind
        If there is none; its `mend` names the nearest kinds.
    """
    try:
        return KINDS[name]
    except KeyError:
        raise UnknownKind(name) from None
