"""The look of the program: light and readable on a dark desktop too."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPalette
from PySide6.QtWidgets import QToolTip

from editor import application

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


def test_a_desktop_that_turns_dark_later_changes_nothing(on_a_dark_desktop):
    """As some do in the evening."""
    application.prepare(on_a_dark_desktop)
    before = on_a_dark_desktop.palette().color(ROLE.Window)
    on_a_dark_desktop.styleHints().setColorScheme(Qt.ColorScheme.Dark)
    assert on_a_dark_desktop.palette().color(ROLE.Window) == before
