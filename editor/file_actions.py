"""New, open, save and close, with the questions they ask."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QFileDialog, QMessageBox

from analysis.circuit_file import circuit_text, parse_circuit
from analysis.errors import CircuitError
from editor.ask_file import ask_where_to_write
from editor.documents import Document, Recovered, recent_files
from editor.file_names import SUFFIX, with_suffix

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

_FILTER = f"Circuits (*{SUFFIX});;All files (*)"
_Button = QMessageBox.StandardButton


class FileActions(QObject):
    """What the File menu does to a document; the dialogs belong to `window`."""

    def __init__(self, document: Document, window: QWidget) -> None:
        super().__init__(window)
        self._document = document
        self._window = window

    def new(self) -> None:
        """An empty sheet, unless the person wants to keep what is unsaved."""
        if self.may_leave():
            self._document.new()

    def ask_open(self) -> None:
        """Ask for a file and open it."""
        path, _ = QFileDialog.getOpenFileName(self._window, "Open circuit", self._folder(), _FILTER)
        if path:
            self.open(path)

    def open(self, path: str) -> None:
        """Open a file; one that cannot be read is told in one line, and all stays."""
        if not self.may_leave():
            return
        try:
            self._document.open(path)
        except CircuitError as error:
            self._tell(f"{Path(path).name} cannot be opened: {error}")

    def recover(self, found: Recovered) -> None:
        """Open a safety copy."""
        try:
            self._document.recover(found)
        except CircuitError as error:
            self._tell(f"The safety copy cannot be opened: {error}")

    def save(self) -> bool:
        """Write the file, asking for a name if there is none; False if that was given up."""
        return self._write(self._document.path) if self._document.path else self.save_as()

    def save_as(self) -> bool:
        """Ask for a name and write the file."""
        made_of_title = str(Path(self._folder()) / f"{self._document.stem}{SUFFIX}")
        path = ask_where_to_write(
            self._window, "Save circuit", self._document.path or made_of_title, _FILTER, _completed
        )
        return bool(path) and self._write(path)

    def _write(self, path: str) -> bool:
        try:
            self._document.save(path)
        except CircuitError as error:
            self._tell(f"The circuit is not saved: {error}")
            return False
        self._check_readable()
        return True

    def _check_readable(self) -> None:
        """Say at once, while it can be mended, if the file would be refused on opening.

        An edit is checked by itself; a procedure that sets something may no longer agree.
        """
        try:
            parse_circuit(circuit_text(self._document.circuit))
        except CircuitError as error:
            self._tell(f"Saved, but the file will not open again until this is mended: {error}")

    def close(self) -> None:
        """Back to the start page."""
        if self.may_leave():
            self._document.close()

    def may_leave(self) -> bool:
        """Whether the circuit may be left: it is saved, or the person gives it up."""
        if not self._document.is_modified:
            return True
        answer = QMessageBox.question(
            self._window,
            "Standpipe",
            f"Save the changes to {self._document.name}?",
            _Button.Save | _Button.Discard | _Button.Cancel,
            _Button.Save,
        )
        if answer == _Button.Save:
            return self.save()
        return answer == _Button.Discard

    def _folder(self) -> str:
        known = self._document.path or next(iter(recent_files()), "")
        return str(Path(known).parent) if known else str(Path.home())

    def _tell(self, line: str) -> None:
        QMessageBox.warning(self._window, "Standpipe", line)


def _completed(path: str, _filter: str) -> str:
    return with_suffix(path)
