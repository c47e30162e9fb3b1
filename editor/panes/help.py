"""Help: what the program is for and what it is not for, and which keys it knows."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from importlib.metadata import PackageNotFoundError, version

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QTextBrowser, QVBoxLayout, QWidget

CAUTIONS: Sequence[tuple[str, str]] = (
    (
        "Fluid injection.",
        "Oil under pressure from a pinhole goes through skin and gloves. It looks harmless and is "
        "a surgical emergency. Never feel for a leak by hand.",
    ),
    (
        "Stored pressure.",
        "Accumulators, loads and shut-in lines hold pressure with every pump at rest. Let it down "
        "and see the gauge at zero before a line is opened.",
    ),
    (
        "Moving gear.",
        "Cylinders, doors, flaps and presses move when a lever is moved, a lock lets go or a line "
        "is opened, and faster than people get clear. Keep out of their way; fit locks and pins.",
    ),
    (
        "Aircraft on jacks.",
        "Retract gear only on jacks set up as the aircraft's manual says, with people, stands and "
        "tools clear, and with one person at the lever who sees it all.",
    ),
)

LIMITS = (
    "Readings are calculated from what was drawn and from simplified laws; they do not replace a "
    "gauge. Values that are assumed, or known only as a range, make every reading that hangs on "
    "them uncertain. Standpipe is for training, study and review. It is not for release to "
    "service: approved data, local codes and licensed persons decide."
)

KEYS: Sequence[tuple[str, Sequence[tuple[str, str]]]] = (
    (
        "On the sheet",
        (
            ("Click a symbol, then the sheet", "place it; or drag it there"),
            ("Drag from port to port", "connect them by a line"),
            ("Wheel", "zoom to the pointer"),
            ("Esc", "leave off what is being done"),
        ),
    ),
    (
        "While parts are picked for a requirement",
        (
            ("Click", "pick what is framed; again takes it back"),
            ("Arrow keys, then Enter", "the same by keys"),
            ("Right click, or Done", "keep what is picked"),
            ("Esc", "pick as it was before; on the sheet, put a shown way away"),
        ),
    ),
    (
        "In the part form",
        (
            ("1000 psi, 1/4 in, 2.5 imp_gal/min", "a value with its unit"),
            ("900 psi to 1100 psi", "a range"),
            ("?", "not known"),
            ("0 in: 200 lbf; 6 in: 400 lbf", "a table of position and load"),
            ("Empty", "back to the default"),
            ("Enter or Tab", "take the entry over"),
            ("Esc", "back to what was written"),
        ),
    ),
    (
        "Faults, in the pane Operation",
        (
            ("Faults: select, then a button", "break it so, or no fault: whole again"),
            ("Hide faults", "a student sees symptoms and gauges only"),
            ("Reveal faults, in Instruments", "all is shown again"),
        ),
    ),
    (
        "What if something fails",
        (
            ("Right click on a part or line", "what if this fails: choose how"),
            ("Enter or double click in Failures", "the sheet with this failure in"),
            ("Click a lever, L, Shift+L", "work it there; the drawing stays as it is"),
            ("Esc", "back to the drawing"),
        ),
    ),
    (
        "In the shelf",
        (
            ("Enter in the search", "take the first symbol found"),
            ("Down, then Enter", "choose another one"),
        ),
    ),
)


def about_html() -> str:
    """The text of About: what it is, the cautions, the limits, the licence."""
    cautions = "".join(f"<li><b>{escape(t)}</b> {escape(text)}</li>" for t, text in CAUTIONS)
    return (
        f"<h2>Standpipe {escape(_version())}</h2>"
        "<p>Draws the hydraulic circuits of old machines and aircraft, and shows their pressures "
        "and flows as they are drawn.</p>"
        f"<h3>Cautions: this can hurt people</h3><ul>{cautions}</ul>"
        f"<p><b>{escape(LIMITS)}</b></p>"
        "<p>Apache License 2.0.</p>"
    )


def keys_html(actions: Sequence[QAction] = ()) -> str:
    """Keys and gestures; the shortcuts of the window's own actions come first."""
    rows = [(_plain(a.text()), _shortcut(a)) for a in actions if not a.shortcut().isEmpty()]
    groups = [("Commands", [(keys, title) for title, keys in rows])] if rows else []
    groups += [(title, list(lines)) for title, lines in KEYS]
    parts = []
    for title, lines in groups:
        cells = "".join(
            f"<tr><td width='260'><b>{escape(keys)}</b></td><td>{escape(does)}</td></tr>"
            for keys, does in lines
        )
        parts.append(f"<h3>{escape(title)}</h3><table cellpadding='2'>{cells}</table>")
    return "".join(parts)


def show_about(parent: QWidget | None) -> QDialog:
    """Open About; it does not hold up the program."""
    return _show(parent, "About Standpipe", about_html())


def show_keys(parent: QWidget | None) -> QDialog:
    """Open the list of keys, with the shortcuts that the window has now."""
    actions = parent.findChildren(QAction) if parent is not None else []
    return _show(parent, "Keys", keys_html(actions))


def _show(parent: QWidget | None, title: str, html: str) -> QDialog:
    dialog = QDialog(parent)
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    dialog.setWindowTitle(title)
    text = QTextBrowser(dialog)
    text.setHtml(html)
    text.setAccessibleName(title)
    text.setFrameShape(QTextBrowser.Shape.NoFrame)
    buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close, dialog)
    buttons.rejected.connect(dialog.close)
    layout = QVBoxLayout(dialog)
    layout.addWidget(text)
    layout.addWidget(buttons)
    dialog.resize(620, 560)
    dialog.open()
    return dialog


def _version() -> str:
    try:
        return version("standpipe")
    except PackageNotFoundError:
        return ""


def _plain(text: str) -> str:
    return text.replace("&&", "\0").replace("&", "").replace("\0", "&").rstrip(".…")


def _shortcut(action: QAction) -> str:
    native = QKeySequence.SequenceFormat.NativeText
    return " or ".join(keys.toString(native) for keys in action.shortcuts())
