"""The question where to write a file, and whether one that is there may be replaced."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtWidgets import QFileDialog, QMessageBox, QWidget

_Button = QMessageBox.StandardButton


def ask_where_to_write(
    parent: QWidget,
    title: str,
    proposed: str,
    filters: str,
    completed: Callable[[str, str], str],
) -> str:
    """The path to write to; empty if that was given up.

    Parameters
    ----------
    completed
        Gets the path that was given and the filter that was chosen; returns the path with
        its ending. The dialog asks before a file is replaced, but knows nothing of an ending
        that is added afterwards: that is asked here.
    """
    given, chosen = QFileDialog.getSaveFileName(parent, title, proposed, filters)
    if not given:
        return ""
    path = completed(given, chosen)
    if path == given or not Path(path).exists():
        return path
    answer = QMessageBox.question(
        parent,
        "Standpipe",
        f"{Path(path).name} is there already. Replace it?",
        _Button.Yes | _Button.No,
        _Button.No,
    )
    return path if answer == _Button.Yes else ""
