"""The circuit that is open: its file, its undo stack, what is not saved, what is recovered."""

from __future__ import annotations

import json
import os
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from uuid import uuid4

from PySide6.QtCore import QObject, QSettings, QTimer, Signal
from PySide6.QtGui import QUndoStack

from analysis.circuit import Circuit
from analysis.circuit_file import read_circuit, write_circuit
from analysis.errors import CircuitError
from editor.file_names import SUFFIX, stem_from_title, stem_of

AUTOSAVE_MS = 20_000
RECENT = 10


def settings() -> QSettings:
    """What the program remembers of the person: recent files, places of windows."""
    return QSettings(
        QSettings.Format.IniFormat, QSettings.Scope.UserScope, "Standpipe", "Standpipe"
    )


def recent_files() -> list[str]:
    """The files opened or saved last, the latest first."""
    stored = settings().value("recent", [])
    if isinstance(stored, str):
        return [stored]
    return [str(path) for path in stored] if isinstance(stored, list) else []


def remember(path: str) -> None:
    """Put a file in front of the recent ones."""
    path = os.path.abspath(path)
    paths = [path, *(other for other in recent_files() if other != path)]
    settings().setValue("recent", paths[:RECENT])


class Document(QObject):
    """One circuit with its file; the circuit object stays the same when a file is opened.

    `changed` is emitted when file, name or modification change.
    """

    changed = Signal()
    autosave_failed = Signal(str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.circuit = Circuit()
        self.stack = QUndoStack(self)
        self.path = ""
        self.is_open = False
        self.is_recovered = False
        self._saved_revision = -1
        self._autosave = autosave_folder() / f"{os.getpid()}-{uuid4().hex[:8]}{SUFFIX}"
        self._timer = QTimer(self)
        self._timer.setInterval(AUTOSAVE_MS)
        self._timer.timeout.connect(self.autosave)
        self._timer.start()
        self.stack.cleanChanged.connect(self._tell)

    @property
    def is_modified(self) -> bool:
        """Whether something would be lost."""
        return self.is_recovered or not self.stack.isClean()

    @property
    def name(self) -> str:
        """What the window calls it."""
        if self.path:
            return stem_of(Path(self.path).name)
        return "Untitled" if self.is_open else ""

    @property
    def stem(self) -> str:
        """How names of files made of it begin: as its own file, else as it is called."""
        return self.name if self.path else stem_from_title(self.circuit.title.get("name", ""))

    def new(self) -> None:
        """An empty sheet."""
        self._take(Circuit(), "")

    def open(self, path: str) -> None:
        """Open a file; if it cannot be read, CircuitFileError, and everything stays."""
        self._take(read_circuit(path), os.path.abspath(path))
        remember(path)

    def recover(self, found: Recovered) -> None:
        """Open what an earlier run left unsaved; raises CircuitFileError."""
        self._take(read_circuit(found.autosave), found.path)
        self.is_recovered = True
        found.discard()
        self.autosave()
        self.changed.emit()

    def close(self) -> None:
        """Back to nothing open."""
        self._take(Circuit(), "")
        self.is_open = False
        self.changed.emit()

    def save(self, path: str = "") -> None:
        """Write the file; raises CircuitError if it cannot be written, and nothing is lost."""
        target = path or self.path
        write_circuit(self.circuit, target)
        self.path = os.path.abspath(target)
        self.is_recovered = False
        self.stack.setClean()
        self._drop_autosave()
        remember(self.path)
        self.changed.emit()

    def autosave(self) -> None:
        """Keep a copy of what is not saved, in case the program ends by accident."""
        if not self.is_modified:
            self._drop_autosave()
            return
        if self._saved_revision == self.circuit.revision:
            return
        try:
            self._autosave.parent.mkdir(parents=True, exist_ok=True)
            write_circuit(self.circuit, self._autosave)
            _origin(self._autosave).write_text(json.dumps(self.path), encoding="utf-8")
            self._saved_revision = self.circuit.revision
        except (OSError, CircuitError) as error:
            self.autosave_failed.emit(f"No safety copy could be kept: {error}")

    def release(self) -> None:
        """Stop keeping copies; what was saved or given up needs none."""
        self._timer.stop()
        self._drop_autosave()

    def _take(self, circuit: Circuit, path: str) -> None:
        self.circuit.replace_with(circuit)
        self.stack.clear()
        self.path, self.is_open, self.is_recovered = path, True, False
        self._drop_autosave()
        self.changed.emit()

    def _drop_autosave(self) -> None:
        self._saved_revision = -1
        Recovered(self._autosave, "").discard()

    def _tell(self) -> None:
        self.changed.emit()


@dataclass(frozen=True)
class Recovered:
    """A safety copy, and the file it was a copy of (empty: never saved)."""

    autosave: Path
    path: str

    @property
    def name(self) -> str:
        """What to call it in a question."""
        return Path(self.path).name if self.path else "a new drawing"

    def discard(self) -> None:
        """Delete the copy."""
        for path in (self.autosave, _origin(self.autosave)):
            with suppress(OSError):
                path.unlink()


def autosave_folder() -> Path:
    """Where the safety copies lie: beside the settings."""
    return Path(settings().fileName()).parent / "unsaved"


def find_recoverable() -> list[Recovered]:
    """The safety copies of runs of the program that have ended."""
    found = []
    for path in sorted(autosave_folder().glob(f"*{SUFFIX}")):
        process = path.name.partition("-")[0]
        if process.isdigit() and int(process) != os.getpid() and not _is_running(int(process)):
            found.append(Recovered(path, _read_origin(path)))
    return found


def _origin(autosave: Path) -> Path:
    return autosave.with_name(autosave.name.removesuffix(SUFFIX) + ".origin")


def _read_origin(autosave: Path) -> str:
    try:
        origin = json.loads(_origin(autosave).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return ""
    return origin if isinstance(origin, str) else ""


def _is_running(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True
