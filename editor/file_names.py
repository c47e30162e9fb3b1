"""The names proposed for files: after the circuit's file, or else after what it is called."""

from __future__ import annotations

import re

SUFFIX = ".circuit.json"
NAMELESS = "untitled"
_MOST = 60
"""Letters of a proposed name: file systems allow 255 bytes, a reader far less."""


def stem_of(file_name: str) -> str:
    """A file's name without its ending, whole or in part: `press` of `press.circuit`."""
    for ending in (SUFFIX, ".json", ".circuit"):
        if file_name.lower().endswith(ending):
            return file_name[: -len(ending)]
    return file_name


def stem_from_title(title: str) -> str:
    """A name for files made of what a circuit is called; `untitled` if nothing is left.

    Small letters, digits and underscores, as any shell and file system takes them; letters
    of other alphabets stay.
    """
    words = re.sub(r"[^\w]+", "_", stem_of(title.strip()).lower())
    stem = words[:_MOST].strip("_")
    # `circuit.circuit.json` would read as a slip
    return NAMELESS if stem in ("", "circuit") else stem


def with_suffix(path: str) -> str:
    """The path as it is saved: with the ending of circuits, once; another `.json` is kept."""
    if path.lower().endswith(".json"):
        return path
    return path[: -len(".circuit")] + SUFFIX if path.lower().endswith(".circuit") else path + SUFFIX
