"""Steps and expectations of a procedure in the words in which they are typed.

Nothing is lost on the way: what stands in the file reads back from its words.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any

from analysis.errors import EditError

_NAME = re.compile(r"\s*([^\s.=;,]+)\.(\w+)\s*=\s*")
_PLAIN_VALUE = re.compile(r"[^;,]+")
_PLAIN_TEXT = re.compile(r"""(?![\s{["])[^;,]+(?<!\s)""")
_BETWEEN_ENTRIES = re.compile(r"\s*([;,]|$)\s*")
_CONDITION = re.compile(
    r"(?P<signal>\S+)\s+(?:is\s+(?P<word>\S+)"
    r"|at least\s+(?P<least>.+?)(?:\s+(?:and\s+)?at most\s+(?P<both>.+?))?"
    r"|at most\s+(?P<most>.+?))"
)
_WAIT = re.compile(r"(?P<condition>.+?)\s*,\s*wait\s+(?P<wait>.+)")


def changes_text(changes: Mapping[str, Mapping[str, Any]]) -> str:
    """What is set, like `1V1.position = DOWN; 0P2.running = true`."""
    return "; ".join(
        f"{identifier}.{name} = {_value_text(value)}"
        for identifier, values in changes.items()
        for name, value in values.items()
    )


def parse_changes(text: str) -> dict[str, dict[str, Any]]:
    """What is set, from its words; raises EditError."""
    changes: dict[str, dict[str, Any]] = {}
    if not text.strip():
        return changes
    at = 0
    while at < len(text):
        match = _NAME.match(text, at)
        if match is None:
            raise EditError(
                f"'{text[at:].strip()}' sets nothing; write it like 1V1.position = DOWN"
            )
        identifier, name = match.groups()
        if name in changes.get(identifier, {}):
            raise EditError(f"{identifier}.{name} is set twice; take one out")
        value, at = _next_value(text, match.end())
        changes.setdefault(identifier, {})[name] = value
        between = _BETWEEN_ENTRIES.match(text, at)
        if between is None:
            raise EditError(f"'{text[at:].strip()}' is too much; put ; before the next entry")
        at = between.end()
    return changes


def when_text(step: Mapping[str, Any]) -> str:
    """When a step is done: `at 3 s`, or `after 1A1.lock is locked, wait 2 s`."""
    if "after" not in step:
        return f"at {step['at']}"
    wait = f", wait {step['wait']}" if "wait" in step else ""
    return f"after {condition_text(step['after'])}{wait}"


def parse_when(text: str) -> dict[str, Any]:
    """The keys `at`, or `after` and `wait`, from their words; raises EditError."""
    word, _, rest = text.strip().partition(" ")
    rest = rest.strip()
    if word == "at" and rest:
        return {"at": rest}
    if word == "after" and rest:
        match = _WAIT.fullmatch(rest)
        if match is None:
            return {"after": parse_condition(rest)}
        return {"after": parse_condition(match["condition"]), "wait": match["wait"].strip()}
    raise EditError(
        f"'{text.strip()}' is no time; write 'at 3 s' or 'after 1A1.extension at least 100 mm'"
    )


def condition_text(raw: Mapping[str, Any]) -> str:
    """A condition, like `1A1.extension at least 11.9 in`."""
    words = [str(raw["signal"])]
    if "is" in raw:
        words.append(f"is {_value_text(raw['is'])}")
    if "at_least" in raw:
        words.append(f"at least {raw['at_least']}")
    if "at_most" in raw:
        words.append(f"at most {raw['at_most']}")
    return " ".join(words)


def parse_condition(text: str) -> dict[str, Any]:
    """A condition from its words; raises EditError."""
    match = _CONDITION.fullmatch(text.strip())
    if match is None:
        raise EditError(
            f"'{text.strip()}' is no condition; write it like 1A1.extension at least 100 mm, "
            "0S1.A.pressure at most 80 bar or 1A1.lock is locked"
        )
    raw: dict[str, Any] = {"signal": match["signal"]}
    if match["word"] is not None:
        raw["is"] = _value(match["word"])
    if match["least"] is not None:
        raw["at_least"] = _number_or_text(match["least"])
    most = match["both"] or match["most"]
    if most is not None:
        raw["at_most"] = _number_or_text(most)
    return raw


def limit_text(item: Mapping[str, Any]) -> str:
    """Up to when an expectation is to be met: `by 60 s` or `throughout`."""
    return "throughout" if item.get("throughout") else f"by {item['by']}"


def parse_limit(text: str) -> dict[str, Any]:
    """The key `by` or `throughout` from its words; raises EditError."""
    text = text.strip()
    if text == "throughout":
        return {"throughout": True}
    word, _, rest = text.partition(" ")
    if word == "by" and rest.strip():
        return {"by": rest.strip()}
    raise EditError(f"'{text}' is no limit; write 'by 60 s' or 'throughout'")


def _value_text(value: Any) -> str:
    plain = isinstance(value, str) and _PLAIN_TEXT.fullmatch(value)
    # text that would read back as something else is put in quotes
    if plain and isinstance(_value(value), str):
        return str(value)
    return json.dumps(value, ensure_ascii=False)


def _next_value(text: str, at: int) -> tuple[Any, int]:
    """The value that begins at a place of the text, and the place where it ends."""
    if text[at : at + 1] in ("{", "[", '"'):
        try:
            return json.JSONDecoder().raw_decode(text, at)
        except ValueError as error:
            raise EditError(f"'{text[at:]}' cannot be read; close its quotes, brackets") from error
    match = _PLAIN_VALUE.match(text, at)
    if match is None:
        raise EditError("there is no value after the last =; write it like 1V1.position = DOWN")
    return _value(match[0].strip()), match.end()


def _value(text: str) -> Any:
    """Text as it stands, but true, false and numbers."""
    return text == "true" if text in ("true", "false") else _number_or_text(text)


def _number_or_text(text: str) -> Any:
    if re.fullmatch(r"[+-]?\d+", text):
        return int(text)
    if re.fullmatch(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", text):
        return float(text)
    return text
