"""The sheet and the report written from the window, as `standpipe draw` and `report` do."""

from __future__ import annotations

from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt
from PySide6.QtWidgets import QApplication, QFileDialog, QMessageBox

from analysis.circuit_file import circuit_text
from analysis.errors import CircuitError
from analysis.output_file import write_whole
from editor.documents import SUFFIX, recent_files

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

    def drawing(self) -> None:
        """Ask for a file and draw the sheet into it."""
        self._write("Export drawing", "", _DRAWINGS, self._drawn)

    def report(self) -> None:
        """Ask for a file and write the report of the circuit as it stands into it."""
        self._write("Export report", "-report", _REPORTS, self._reported)

    def _write(
        self, title: str, ending: str, forms: dict[str, str], make: Callable[[str], bytes]
    ) -> None:
        proposed = str(self._folder() / f"{self._document.name}{ending}.pdf")
        path, chosen = QFileDialog.getSaveFileName(self._window, title, proposed, ";;".join(forms))
        if not path:
            return
        form = path.rpartition(".")[2].lower()
        if form not in forms.values():
            form = forms.get(chosen, "pdf")
            path = f"{path}.{form}"
        QApplication.setOverrideCursor(Qt.CursorShape.WaitCursor)
        try:
            write_whole(path, make(form))
        except CircuitError as error:
            wrong = str(error)
        else:
            wrong = ""
        finally:
            QApplication.restoreOverrideCursor()
        if wrong:
            QMessageBox.warning(self._window, "Standpipe", f"Nothing is written: {wrong}")
        else:
            self._window.status.say(f"Written: {path}")

    def _drawn(self, form: str) -> bytes:
        from editor.sheet_export import sheet_bytes

        return sheet_bytes(self._document.circuit, form)

    def _reported(self, form: str) -> bytes:
        from analysis.report import make_report
        from editor.command_line import program_version
        from editor.report_pages import report_html, report_pdf

        circuit = self._document.circuit.copy()
        report = make_report(
            circuit,
            self._window.units,
            file_name=self._document.name + SUFFIX,
            # of the file as it is when it is saved now
            file_checksum=sha256(circuit_text(circuit).encode("utf-8")).hexdigest(),
            version=program_version(),
        )
        return report_pdf(report) if form == "pdf" else report_html(report)

    def _folder(self) -> Path:
        known = self._document.path or next(iter(recent_files()), "")
        return Path(known).parent if known else Path.home()
