"""What the commands that need Qt say where it cannot be loaded."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from editor.commands.common import RequestError

_LIBRARIES = ("PySide6", "shiboken6", "pyqtgraph")


@contextmanager
def qt_or_refusal(what: str) -> Iterator[None]:
    """Turn a failing import of Qt into one line; any other failing import is a fault here."""
    try:
        yield
    except ImportError as error:
        # a system library that is missing is named by the loader and by no module
        if not str(error.name or "").startswith(_LIBRARIES) and ".so" not in str(error):
            raise
        raise RequestError(f"{what}: Qt cannot be loaded ({error}); run .ci/setup") from error
