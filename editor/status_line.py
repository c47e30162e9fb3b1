"""The status line: what the pointer is on, how the solution stands, the zoom."""

from __future__ import annotations

from PySide6.QtWidgets import QLabel, QSizePolicy, QStatusBar, QWidget

from editor import theme
from editor.live_analysis import LiveAnalysis


class StatusLine(QStatusBar):
    """Left: hints and refusals. Right: findings, solver, zoom."""

    def __init__(self, live: LiveAnalysis, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._live = live
        self.hint = QLabel(self)
        # a long hint must not push the window wider
        self.hint.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.findings = QLabel(self)
        self.solver = QLabel(self)
        self.zoom = QLabel(self)
        self.hint.setAccessibleName("Hint")
        self.solver.setAccessibleName("State of the solution")
        self.addWidget(self.hint, 1)
        for label in (self.findings, self.solver, self.zoom):
            label.setContentsMargins(10, 0, 4, 0)
            self.addPermanentWidget(label)
        live.readings_changed.connect(self._on_readings)
        live.check_changed.connect(self.show_findings)
        self.show_solver()
        self.show_findings()

    def say(self, text: str, wrong: bool = False) -> None:
        """Show a hint, or (wrong) why something is refused."""
        self.hint.setText(text)
        self.hint.setToolTip(text)
        _colour(self.hint, wrong)

    def show_numbers(self, shown: bool) -> None:
        """Findings, solver and zoom mean something only while a circuit is open."""
        for label in (self.findings, self.solver, self.zoom):
            label.setVisible(shown)

    def show_zoom(self, scale: float) -> None:
        """Show the zoom, 100 % being the size on paper."""
        self.zoom.setText(f"{scale / theme.FULL_SIZE * 100:.0f} %")

    def _on_readings(self) -> None:
        if self._live.figures_due:
            self.show_solver()

    def show_solver(self) -> None:
        """How the latest readings came about."""
        readings = self._live.readings
        if readings is None:
            self.solver.setText(self._live.problem or "Solving…")
            _colour(self.solver, bool(self._live.problem))
            return
        if not readings.converged:
            self.solver.setText(f"Not solved: {readings.message}")
            _colour(self.solver, True)
            return
        text = f"Solved in {self._live.elapsed_ms:.1f} ms, {readings.iterations} steps"
        open_ports = len(readings.undetermined)
        if open_ports:
            text += f"; {open_ports} {'port' if open_ports == 1 else 'ports'} undetermined"
        self.solver.setText(text)
        self.solver.setToolTip(
            f"Largest net flow at a node: {readings.mass_imbalance:.1e} m³/s. {readings.message}"
        )
        _colour(self.solver, False)

    def show_findings(self) -> None:
        """How many findings there are, the grave ones counted."""
        check = self._live.check
        if check is None:
            self.findings.setText("")
            return
        errors = sum(f.severity == "error" for f in check.findings)
        warnings = sum(f.severity == "warning" for f in check.findings)
        failed = sum(verdict.judged and not verdict.holds for verdict in check.requirements)
        counts = ((errors, "error"), (warnings, "warning"), (failed, "failed requirement"))
        parts = [f"{n} {word}{'' if n == 1 else 's'}" for n, word in counts if n]
        self.findings.setText(", ".join(parts) or "No errors, no warnings")
        _colour(self.findings, bool(errors or failed))


def _colour(label: QLabel, wrong: bool) -> None:
    palette = label.palette()
    palette.setColor(label.foregroundRole(), theme.REFUSED if wrong else theme.INK)
    label.setPalette(palette)
