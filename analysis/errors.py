"""The errors of the package: each carries the place and the mend.

A faulty drawing is not an error: the analysis reports findings. Errors are for input
that cannot be read and for operations that cannot be done.
"""

from __future__ import annotations


class CircuitError(Exception):
    """Base of all errors of this package.

    Parameters
    ----------
    message
        One line that says what is wrong, what was got, and what is allowed.
    place
        Where: `components[3].settings.bore`, or an id; empty if there is no place.
    """

    def __init__(self, message: str, place: str = "") -> None:
        super().__init__(f"{place}: {message}" if place else message)
        self.message = message
        self.place = place


class QuantityError(CircuitError, ValueError):
    """A text is no quantity of the wanted dimension."""


class CircuitFileError(CircuitError, ValueError):
    """A file cannot be read as a circuit, or not be written."""


class EditError(CircuitError, ValueError):
    """An editing operation is not allowed on this circuit."""


class UnknownElement(EditError, LookupError):
    """No component, line, port, setting or state of that name."""
