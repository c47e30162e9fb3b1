"""What parts exist: every kind of component as plain data.

Here belong ports, settings, states, failure modes and drawings. Units are names
only, colours and Qt are unknown here; what a part *does* is in `analysis.laws`.
"""

from symbols.catalogue import KINDS, UnknownKind, find_kind
from symbols.kind import Kind, Look, Port, Setting, Zone

__all__ = ["KINDS", "Kind", "Look", "Port", "Setting", "UnknownKind", "Zone", "find_kind"]
