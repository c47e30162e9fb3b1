"""`standpipe [FILE]`: the editor, or one line that says why it cannot open."""

from __future__ import annotations

import argparse
import os
import socket
import sys
from collections.abc import Mapping
from pathlib import Path

from editor.commands.common import RequestError
from editor.commands.qt import qt_or_refusal


def execute(arguments: argparse.Namespace) -> int:
    """Open the editor; raises RequestError if there is no file or no display."""
    if arguments.file is not None and not os.path.isfile(arguments.file):
        exists = os.path.exists(arguments.file)
        reason = "is no file" if exists else "there is no such file or command"
        raise RequestError(f"{reason}; 'standpipe --help' lists the commands", arguments.file)
    missing = missing_display(os.environ)
    if missing:
        raise RequestError(
            f"{missing}, so the editor cannot open; "
            f"without one these commands work: {', '.join(arguments.command_names)}"
        )
    with qt_or_refusal("the editor cannot open"):
        from editor.application import run_editor
    return run_editor(arguments.file)


def missing_display(environment: Mapping[str, str]) -> str:
    """What is missing for a window to open, in words; empty if nothing is.

    Qt ends the whole program where it finds no display, so this is looked at before.
    """
    if not sys.platform.startswith("linux") or environment.get("QT_QPA_PLATFORM"):
        return ""
    if environment.get("WAYLAND_DISPLAY"):
        return ""
    display = environment.get("DISPLAY", "")
    if not display:
        return "there is no display (DISPLAY and WAYLAND_DISPLAY are not set)"
    if display.startswith(":") and not _answers(display):
        return f"the display {display} does not answer"
    return ""


def _answers(display: str) -> bool:
    """Whether an X server listens at a local display such as `:0` or `:0.0`."""
    number = display[1:].partition(".")[0]
    if not number.isdigit():
        return False
    place = str(Path("/", "tmp", ".X11-unix", f"X{number}"))
    for address in ("\0" + place, place):
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as client:
            client.settimeout(2.0)
            try:
                client.connect(address)
            except OSError:
                continue
            return True
    return False
