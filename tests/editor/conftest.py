"""What holds for every test of the editor: no question is asked, and nothing is left behind.

A dialog that waits for an answer would hang the suite, and a window, timer or thread that
outlives its test makes another test fail, far from the cause. Both fail here, at the cause.
"""

import gc
import threading

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QSettings, QThread, QThreadPool, QTimer
from PySide6.QtWidgets import QApplication, QDialog, QFileDialog, QInputDialog, QMenu, QMessageBox

_BLOCKING_CALLS = [
    (QDialog, ["exec"]),
    (QMessageBox, ["exec", "about", "aboutQt", "critical", "information", "question", "warning"]),
    (
        QFileDialog,
        [
            "exec",
            "getExistingDirectory",
            "getOpenFileName",
            "getOpenFileNames",
            "getSaveFileName",
        ],
    ),
    (QInputDialog, ["exec", "getDouble", "getInt", "getItem", "getMultiLineText", "getText"]),
    (QMenu, ["exec"]),
]

_SECONDS_A_BLOCKING_WIDGET_MAY_STAY = 5


@pytest.fixture(autouse=True)
def no_unexpected_question(monkeypatch):
    """A dialog or menu that would wait for an answer raises instead.

    A test that expects one replaces the call by the answer, with `monkeypatch.setattr`.
    """

    def refusal(name):
        def refuse(*_arguments, **_options):
            raise AssertionError(f"{name} would wait for an answer; patch it with one")

        return refuse

    for owner, calls in _BLOCKING_CALLS:
        for call in calls:
            monkeypatch.setattr(owner, call, refusal(f"{owner.__name__}.{call}"))


@pytest.fixture(autouse=True)
def own_settings(tmp_path):
    """Recent files and window places go to a folder of the test, never to the person's own."""
    for form in (QSettings.Format.NativeFormat, QSettings.Format.IniFormat):
        QSettings.setPath(form, QSettings.Scope.UserScope, str(tmp_path / "settings"))


@pytest.fixture(autouse=True)
def garbage_stays_until_the_end():
    """As in the program (`editor.tidying`): no worker thread destroys what belongs to windows."""
    gc.disable()
    yield
    gc.enable()


@pytest.fixture(autouse=True)
def nothing_left_behind(qapp, garbage_stays_until_the_end):
    """Fail the test that leaves a top-level widget, an active timer or a running thread.

    `qapp` is asked for, since a widget made before the application would end the whole run.
    """
    widgets_before = set(QApplication.topLevelWidgets())
    timers_before = set(_alive(QTimer, QTimer.isActive))
    threads_before = _python_threads()
    watch = _BlockingWidgetWatch()
    yield
    watch.stop()
    QThreadPool.globalInstance().waitForDone(5000)
    for thread in _python_threads() - threads_before:
        thread.join(timeout=5)
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    gc.collect()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)

    left = [*watch.closed]
    left += [f"widget {w!r}" for w in set(QApplication.topLevelWidgets()) - widgets_before]
    left += [f"active timer {t!r}" for t in set(_alive(QTimer, QTimer.isActive)) - timers_before]
    left += [f"running {t!r}" for t in _alive(QThread, QThread.isRunning) if t.parent() is not qapp]
    left += [f"running {t!r}" for t in _python_threads() - threads_before]
    assert not left, "the test leaves behind: " + "; ".join(left)


@pytest.fixture
def no_menus_left():
    """The plotting library's context menus have no parent; they go with the test."""
    before = set(QApplication.topLevelWidgets())
    yield
    for widget in set(QApplication.topLevelWidgets()) - before:
        widget.deleteLater()


def _python_threads():
    """The threads that Python started; Qt's own, idle in its pool, show up as dummies."""
    return {thread for thread in threading.enumerate() if not thread.name.startswith("Dummy-")}


def _alive(kind, is_active):
    """The Python-owned objects of a Qt class that are still there and at work."""
    found = []
    for candidate in gc.get_objects():
        # By type() and not isinstance(): a lazy proxy would answer for the object it stands for.
        if issubclass(type(candidate), kind):
            try:
                active = is_active(candidate)
            except RuntimeError:  # The C++ object is deleted already.
                continue
            if active:
                found.append(candidate)
    return found


class _BlockingWidgetWatch:
    """Closes a modal window or popup that stays open, so that the test ends, and notes it."""

    def __init__(self):
        self.closed = []
        self._seen = None
        self._seconds = 0
        self._timer = QTimer()
        self._timer.timeout.connect(self._look)
        self._timer.start(1000)

    def _look(self):
        widget = QApplication.activeModalWidget() or QApplication.activePopupWidget()
        self._seconds = self._seconds + 1 if widget is not None and widget is self._seen else 0
        self._seen = widget
        if self._seconds >= _SECONDS_A_BLOCKING_WIDGET_MAY_STAY:
            self.closed.append(f"{widget!r}, open and waiting until it was closed for the test")
            widget.close()

    def stop(self):
        """Look no longer; the timer must not count as left behind."""
        self._timer.stop()
        self._timer.deleteLater()
