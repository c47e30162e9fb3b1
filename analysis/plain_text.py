"""Text from files made fit to be shown: on one line, without control characters."""

from __future__ import annotations

import unicodedata

_BREAKS = "\n\r\t\v\f\x85\u2028\u2029"


def one_line(text: str, longest: int | None = None) -> str:
    """The text on one line, without what would move a terminal's cursor or turn its writing.

    Parameters
    ----------
    longest
        The most characters that are kept; what was cut off is shown by an ellipsis.

    Examples
    --------
    >>> one_line("two\\nlines\\x1b[31m")
    'two lines[31m'
    >>> one_line("abcdefgh", longest=5)
    'abcd…'
    """
    if longest is not None and len(text) > longest:
        text = text[: longest - 1] + "…"
    if text.isprintable():
        return text
    return "".join(
        " " if character in _BREAKS else character
        for character in text
        if character in _BREAKS or unicodedata.category(character) not in ("Cc", "Cf", "Cs")
    )


def with_degree_signs(text: str) -> str:
    """Temperatures as they are printed.

    >>> with_degree_signs("15 degC")
    '15 °C'
    """
    return text.replace("degC", "°C").replace("degF", "°F")
