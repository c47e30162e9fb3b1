"""The sheet and the report written from the window, as `standpipe draw` and `report` do."""

from __future__ import annotations

import os
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt
from PySide6.QtWidgets import QApplication, QMessageBox

from analysis.errors import CircuitError
from analysis.failure_modes import find_failures
from analysis.output_file import write_whole
from editor.ask_file import ask_where_to_write
from editor.documents import recent_files
from editor.file_names import SUFFIX
from editor.report_apart import ReportApart
from editor.report_bar import ReportBar
from editor.report_gathering import takes_runs
from editor.report_options import ReportOptions

if TYPE_CHECKING:
    from editor.main_window import MainWindow

_DRAWINGS = {"PDF (*.pdf)": "pdf", "SVG (*.svg)": "svg", "PNG (*.png)": "png"}
_REPORTS = {"PDF (*.pdf)": "pdf", "HTML (*.html)": "html"}


class Exports(QObject):
    """What the File menu writes beside the circuit's own file."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window
        self._document = window.document
        self.report_bar = ReportBar(window)
        window.status.addPermanentWidget(self.report_bar)

    def drawing(self) -> None:
        """Ask for a file and draw the sheet into it."""
        path = self._ask("Export drawing", "", _DRAWINGS)
        if not path:
            return
        from editor.sheet_export import sheet_bytes

        QApplication.setOverrideCursor(Qt.CursorShape.WaitCursor)
        try:
            write_whole(path, sheet_bytes(self._document.circuit, _form_of(path)))
        except CircuitError as error:
            wrong = str(error)
        else:
            wrong = ""
        finally:
            QApplication.restoreOverrideCursor()
        if wrong:
            self._refuse(wrong)
        else:
            self._window.status.say(f"Written: {path}")

    def report(self) -> None:
        """Ask what the report shall hold, where that is a choice, and write it."""
        circuit = self._document.circuit
        if not takes_runs(circuit):
            self._write_report(with_runs=False)
            return
        options = ReportOptions(
            self._window,
            len(find_failures(circuit)),
            judged_at_once=any(r.get("kind") != "survives" for r in circuit.requirements),
            worked_out=self._window.failures_pane.current_table() is not None,
        )
        options.chosen.connect(self._on_chosen)
        options.open()

    def _on_chosen(self, with_runs: bool) -> None:
        self._write_report(with_runs=with_runs)

    def _write_report(self, *, with_runs: bool) -> None:
        """Ask for a file and write the report of the circuit as it stands, in the background."""
        path = self._ask("Export report", "-report", _REPORTS)
        if not path:
            return
        # told now, and not after minutes of work
        wrong = _why_not(Path(path))
        if wrong:
            self._refuse(wrong)
            return
        file = self._document.path
        make = partial(
            ReportApart,
            self._document.circuit.copy(),
            form=_form_of(path),
            file_name=Path(file).name if file else f"{self._document.stem}{SUFFIX}",
            with_runs=with_runs,
            table=self._window.failures_pane.current_table() if with_runs else None,
        )
        self.report_bar.write(path, make)

    def may_leave(self) -> bool:
        """Whether the window may close: no report is being written, or it is given up."""
        if not self.report_bar.run.running:
            return True
        answer = QMessageBox.question(
            self._window,
            "Standpipe",
            f"{self.report_bar.file_name} is still being written. Close without it?",
            QMessageBox.StandardButton.Yes | QMessageBox.StandardButton.No,
            QMessageBox.StandardButton.No,
        )
        return answer == QMessageBox.StandardButton.Yes

    def _ask(self, title: str, ending: str, forms: dict[str, str]) -> str:
        proposed = str(self._folder() / f"{self._document.stem}{ending}.pdf")
        completed = partial(_with_form, forms)
        return ask_where_to_write(self._window, title, proposed, ";;".join(forms), completed)

    def _refuse(self, wrong: str) -> None:
        QMessageBox.warning(self._window, "Standpipe", f"Nothing is written: {wrong}")

    def _folder(self) -> Path:
        known = self._document.path or next(iter(recent_files()), "")
        return Path(known).parent if known else Path.home()


def _form_of(path: str) -> str:
    return path.rpartition(".")[2].lower()


def _with_form(forms: dict[str, str], path: str, chosen: str) -> str:
    """The path with an ending that says its form: its own, or that of the chosen filter."""
    return path if _form_of(path) in forms.values() else f"{path}.{forms.get(chosen, 'pdf')}"


def _why_not(path: Path) -> str:
    """Why nothing can be written there, in a line; empty as far as can be told beforehand."""
    if not path.parent.is_dir():
        return f"{path}: cannot be written: there is no such folder"
    if path.is_dir():
        return f"{path}: cannot be written: it is a folder"
    written = path if path.exists() else path.parent
    if not os.access(written, os.W_OK):
        return (
            f"{path}: cannot be written: the {'file' if path.exists() else 'folder'} is read-only"
        )
    return ""
