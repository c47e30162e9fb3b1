"""`standpipe kinds`: the catalogue."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from typing import Any

from editor.commands.common import DONE, Commands, RequestError, add_json, new_parser, print_json


def add_parser(commands: Commands) -> None:
    """Declare the command."""
    parser = new_parser(
        commands,
        "kinds",
        execute,
        "list every kind of component with its ports, settings, states and failure modes",
        "kinds",
        "kinds relief_valve",
        "kinds --json",
    )
    parser.add_argument("kind", nargs="?", metavar="KIND", help="this kind only, in full")
    add_json(parser)


def execute(arguments: argparse.Namespace) -> int:
    """Write the catalogue out."""
    from symbols import KINDS

    kinds = KINDS
    if arguments.kind is not None:
        from symbols.catalogue import UnknownKind, find_kind

        try:
            kinds = {arguments.kind: find_kind(arguments.kind)}
        except UnknownKind as error:
            raise RequestError(str(error)) from error
    if arguments.json:
        print_json({name: _record(kind) for name, kind in kinds.items()})
    elif arguments.kind is not None:
        _print_kind(kinds[arguments.kind])
    else:
        _print_list(kinds)
    return DONE


def _record(kind: Any) -> dict[str, Any]:
    fault = _setting_record(_fault(kind))
    return {
        "title": kind.title,
        "family": kind.family,
        "standard": kind.standard,
        "ports": [port.name for port in kind.ports],
        "settings": {name: _setting_record(s) for name, s in kind.settings.items()},
        "states": {**{name: _setting_record(s) for name, s in kind.states.items()}, "fault": fault},
        "faults": list(kind.faults),
    }


def _fault(kind: Any) -> Any:
    from symbols import Setting

    return Setting("Fault", "choice", "none", choices=("none", *kind.faults))


def _setting_record(setting: Any) -> dict[str, Any]:
    from analysis.values import default_of
    from symbols.kind import WORDS

    record: dict[str, Any] = {
        "title": setting.title,
        "dimension": setting.dimension,
        "default": default_of(setting),
        "minimum": _bound(setting, setting.minimum),
        "maximum": _bound(setting, setting.maximum),
    }
    if setting.positive:
        record["positive"] = True
    if setting.choices:
        record["choices"] = list(setting.choices)
    if setting.table:
        record["table"] = True
    if setting.dimension not in WORDS:
        from symbols.kind import DIMENSIONS

        record["unit"] = DIMENSIONS[setting.dimension]
    return record


def _bound(setting: Any, written: Any) -> float | None:
    from analysis.quantities import parse_quantity

    if written is None:
        return None
    return parse_quantity(written, setting.dimension) if isinstance(written, str) else written


def _print_list(kinds: Mapping[str, Any]) -> None:
    from editor.commands.tables import text_table

    rows = [(k.name, k.title, ", ".join(p.name for p in k.ports)) for k in kinds.values()]
    print(text_table(("KIND", "TITLE", "PORTS"), rows), end="")
    print("\n'standpipe kinds KIND' tells its settings, states and failure modes.")


def _print_kind(kind: Any) -> None:
    from editor.commands.tables import text_table

    print(f"{kind.name}: {kind.title} ({kind.family.replace('_', ' ')}; {kind.standard})")
    print("ports: " + ", ".join(port.name for port in kind.ports))
    for heading, settings in (
        ("SETTING", kind.settings),
        ("STATE", {**kind.states, "fault": _fault(kind)}),
    ):
        rows = [(name, s.dimension, _shown(s.default), _allowed(s)) for name, s in settings.items()]
        if rows:
            print("\n" + text_table((heading, "DIMENSION", "DEFAULT", "ALLOWED"), rows), end="")


def _shown(value: Any) -> str:
    if value is None:
        return "not given"
    return str(value).lower() if isinstance(value, bool) else str(value)


def _allowed(setting: Any) -> str:
    if setting.choices:
        return ", ".join(setting.choices)
    bounds = []
    if setting.positive:
        bounds.append("greater than zero")
    if setting.minimum is not None:
        bounds.append(f"at least {setting.minimum}")
    if setting.maximum is not None:
        bounds.append(f"at most {setting.maximum}")
    if setting.table:
        bounds.append("or a table of [position, value]")
    return ", ".join(bounds)
