"""From the bytes of a file to plain records: JSON, its version, and the schema.

What the records *mean* is no concern here. Every error is one line with place and mend.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Mapping
from difflib import get_close_matches
from math import isfinite
from typing import Any

import msgspec

from analysis.errors import CircuitFileError
from analysis.file_records import FileRecord, all_keys
from analysis.plain_text import one_line

VERSION = 1
LARGEST_FILE = 16 * 1024 * 1024
_LONGEST_MESSAGE = 400

_HALF_CHARACTER = re.compile(r"\\u[dD][89a-fA-F]")


def decode(data: bytes | str) -> dict[str, Any]:
    """The records of a file of the present version, checked against the schema.

    Raises
    ------
    CircuitFileError
        With the place in the file and the mend, on one line.
    """
    raw = _migrated(_parsed(data))
    try:
        msgspec.convert(raw, FileRecord, strict=True)
    except msgspec.ValidationError as error:
        raise _schema_error(str(error)) from error
    return raw


def _parsed(data: bytes | str) -> dict[str, Any]:
    if len(data) > LARGEST_FILE:
        raise CircuitFileError("is larger than 16 MiB; this is no circuit file")
    try:
        text = data.decode("utf-8-sig") if isinstance(data, bytes) else data.removeprefix("\ufeff")
        raw = json.loads(
            text, object_pairs_hook=_unique, parse_constant=_no_constant, parse_float=_finite
        )
    except UnicodeDecodeError as error:
        raise CircuitFileError(f"is not UTF-8 text at byte {error.start}; save it so") from error
    except json.JSONDecodeError as error:
        raise CircuitFileError(
            f"is not JSON: {error.msg.lower()}; mend the text there",
            f"line {error.lineno}, column {error.colno}",
        ) from error
    except RecursionError as error:
        raise CircuitFileError("is nested too deeply; this is no circuit file") from error
    except CircuitFileError:
        raise
    except ValueError as error:  # a whole number of thousands of digits
        raise CircuitFileError("holds a number that is too long; write it shorter") from error
    if not isinstance(raw, dict):
        raise CircuitFileError('must be an object that begins {"format": "standpipe-circuit", …}')
    if _HALF_CHARACTER.search(text):
        _check_characters(raw)
    return raw


def _unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        # whoever stands twice is found in one pass, for a hostile file may hold a million keys
        counts = Counter(key for key, _ in pairs)
        twice = next(key for key, count in counts.items() if count > 1)
        raise CircuitFileError(
            f"the key '{one_line(twice, 40)}' stands twice in one object; keep one of them"
        )
    return found


def _no_constant(word: str) -> float:
    raise CircuitFileError(f"holds {word}, which is no number; write a quantity or null")


def _finite(text: str) -> float:
    number = float(text)
    if not isfinite(number):
        raise CircuitFileError(f"holds {text[:40]}, which is out of range; write a smaller number")
    return number


def _check_characters(raw: Any) -> None:
    """Refuse halves of characters: JSON can spell them, but no file can hold them again."""
    try:
        json.dumps(raw, ensure_ascii=False).encode()
    except UnicodeEncodeError as error:
        code = ord(error.object[error.start])
        raise CircuitFileError(
            f"holds \\u{code:04x}, which is half a character; write the whole one"
        ) from error


def _migrated(raw: dict[str, Any]) -> dict[str, Any]:
    """The records as the present version has them."""
    if raw.get("format") != "standpipe-circuit":
        raise CircuitFileError("must be 'standpipe-circuit'; this is no circuit file", "format")
    version = raw.get("version")
    if isinstance(version, bool) or not isinstance(version, int) or version < 1:
        raise CircuitFileError(f"must be a whole number from 1 to {VERSION}", "version")
    if version > VERSION:
        raise CircuitFileError(
            f"is {one_line(str(version), 20)}, and this program reads up to {VERSION}; "
            "use a newer Standpipe",
            "version",
        )
    # There is no older version yet. The step from version n to n + 1 will go here, and raise
    # raw["version"] by one.
    return raw


_TYPES = {
    "str": "text in quotes",
    "int": "a whole number",
    "float": "a number",
    "int | float": "a number",
    "bool": "true or false",
    "object": "an object {…}",
    "array": "a list […]",
    "null": "null",
}
_WORDS = {
    "turn": "0, 90, 180 or 270",
    "role": "pressure, return, suction, pilot or drain",
    "status": "confirmed, inferred, assumed or unknown",
    "kind": "reaches, reaches_only, reaches_none, independent or survives",
    "size": "A4, A3, A2, A1 or A0",
}


def _schema_error(text: str) -> CircuitFileError:
    """The library's message in the file's own terms: place, what, and what is allowed."""
    message, _, where = text.partition(" - at `")
    key = where.startswith("key in")
    place = re.sub(r"\[\.\.\.\]", "", where.rpartition("$")[2].rstrip("`").lstrip("."))
    unknown = re.match(r"Object contains unknown field `(.*)`$", message, re.DOTALL)
    missing = re.match(r"Object missing required field `(.*)`$", message)
    expected = re.match(r"Expected `([^`]*)`, got `([^`]*)`$", message)
    if unknown:
        message = _unknown_key(unknown[1])
    elif missing:
        message = f"needs the key '{missing[1]}'; add it"
    elif expected and not key:
        message = f"must be {_named(expected[1])}, not {_named(expected[2])}"
    elif message.startswith("Invalid enum value"):
        got = message.removeprefix("Invalid enum value ").replace("`", "'").strip("'")
        allowed = _WORDS.get(place.rpartition(".")[2], "another word")
        message = f"is '{got}'; it must be {allowed}"
    else:
        message = message.replace("`", "'").replace("Expected", "must be").replace(", got", ", not")
    return CircuitFileError(one_line(message, _LONGEST_MESSAGE), place)


def _unknown_key(name: str) -> str:
    near = get_close_matches(name[:40], all_keys(), n=1, cutoff=0.7)
    # a key that is known elsewhere is not misspelled but in the wrong place
    mend = f"did you mean '{near[0]}'?" if near and near[0] != name else "take it out"
    return f"the key '{one_line(name, 40)}' is not known here; {mend}"


def _named(types: str) -> str:
    if types in _TYPES:
        return _TYPES[types]
    return " or ".join(_TYPES.get(word, word) for word in types.split(" | "))


def check_coordinates(points: Mapping[str, Any]) -> None:
    """Refuse places that are on no sheet; raises CircuitFileError with the place."""
    for place, point in points.items():
        if point is not None and not all(abs(c) <= 100_000 for c in point):
            raise CircuitFileError("lies off any sheet; write modules of 2.5 mm", place)
