"""The look of the program: light and readable on a dark desktop too."""

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPalette
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QComboBox,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QToolTip,
    QWidget,
)

from editor import application, theme
from tests.editor.canvas_helpers import open_window

SAMPLE = Path(__file__).parents[2] / "sample_circuits" / "bench_press.circuit.json"

ROLE, GROUP = QPalette.ColorRole, QPalette.ColorGroup
READ = [
    (ROLE.WindowText, ROLE.Window),
    (ROLE.Text, ROLE.Base),
    (ROLE.Text, ROLE.AlternateBase),
    (ROLE.ButtonText, ROLE.Button),
    (ROLE.HighlightedText, ROLE.Highlight),
    (ROLE.ToolTipText, ROLE.ToolTipBase),
    (ROLE.Link, ROLE.Base),
    (ROLE.LinkVisited, ROLE.Base),
]


@pytest.fixture
def on_a_dark_desktop(qapp):
    """The application as a dark desktop leaves it; afterwards as it was."""
    before, tips = qapp.palette(), QToolTip.palette()
    style, font, name = qapp.style().objectName(), qapp.font(), qapp.applicationName()
    scheme = qapp.styleHints().colorScheme()
    dark = QPalette(QColor("#353535"), QColor("#1e1e1e"))
    qapp.styleHints().setColorScheme(Qt.ColorScheme.Dark)
    qapp.setPalette(dark)
    QToolTip.setPalette(dark)
    yield qapp
    qapp.styleHints().setColorScheme(scheme)
    qapp.setStyle(style)
    qapp.setPalette(before)
    QToolTip.setPalette(tips)
    qapp.setFont(font)
    qapp.setApplicationName(name)


def luminance(colour):
    """Relative luminance (WCAG 2.2, definition of that name)."""
    parts = [colour.redF(), colour.greenF(), colour.blueF()]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return sum(weight * c for weight, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(first, second):
    """Contrast ratio (WCAG 2.2, definition of that name)."""
    lighter, darker = sorted((luminance(first), luminance(second)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_text_is_readable_on_a_dark_desktop(on_a_dark_desktop):
    """Every text on its ground by 4.5 to 1 (WCAG 2.2, 1.4.3); tips too."""
    application.prepare(on_a_dark_desktop)
    for palette in (on_a_dark_desktop.palette(), QToolTip.palette()):
        for group in (GROUP.Active, GROUP.Inactive):
            poor = {
                (text, ground): ratio
                for text, ground in READ
                if (ratio := contrast(palette.color(group, text), palette.color(group, ground)))
                < 4.5
            }
            assert not poor


def test_nothing_of_a_dark_desktop_shows_through(on_a_dark_desktop):
    """Bevels and frames are no darker than on a light desktop: the palette leaves no role out."""
    application.prepare(on_a_dark_desktop)
    on_dark = on_a_dark_desktop.palette()
    on_a_dark_desktop.styleHints().setColorScheme(Qt.ColorScheme.Light)
    on_a_dark_desktop.setPalette(QPalette(QColor("#efefef"), QColor("#ffffff")))
    application.prepare(on_a_dark_desktop)
    on_light = on_a_dark_desktop.palette()
    for role in ROLE:
        if role in (ROLE.NoRole, ROLE.NColorRoles):
            continue
        for group in (GROUP.Active, GROUP.Inactive, GROUP.Disabled):
            assert on_dark.color(group, role) == on_light.color(group, role), (group, role)


def test_every_text_in_the_window_is_readable_whatever_the_application_is(on_a_dark_desktop, qtbot):
    """Labels, buttons, fields and tables of all panes; greyed ones are not meant to be read."""
    hand = open_window(qtbot)
    window = hand.window
    window.files.open(str(SAMPLE))
    hand.settled()
    window.operation_dock.show()
    window.selection.set(["0V6"])
    qtbot.waitUntil(lambda: any(row.title.text() == "Position" for row in window.form.rows))
    kinds = (QLabel, QAbstractButton, QLineEdit, QComboBox, QAbstractItemView, QPlainTextEdit)
    poor, seen = [], 0
    for widget in window.findChildren(QWidget):
        if isinstance(widget, kinds) and widget.isVisible() and widget.isEnabled():
            palette = widget.palette()
            text = palette.color(widget.foregroundRole())
            ground = palette.color(widget.backgroundRole())
            seen += 1
            if contrast(text, ground) < 3.0:
                poor.append((type(widget).__name__, widget.accessibleName(), text.name()))
    assert seen > 50
    assert not poor
    assert contrast(theme.INK, window.shelf.list.palette().color(ROLE.Base)) > 7


def test_a_desktop_that_turns_dark_later_changes_nothing(on_a_dark_desktop):
    """As some do in the evening."""
    application.prepare(on_a_dark_desktop)
    before = on_a_dark_desktop.palette().color(ROLE.Window)
    on_a_dark_desktop.styleHints().setColorScheme(Qt.ColorScheme.Dark)
    assert on_a_dark_desktop.palette().color(ROLE.Window) == before
