"""Where the pages of a document break: what stays together, and what is said again.

A row of a table goes to the next page whole, under the table's head; a heading stays with
what it heads. Only what is higher than a page is divided: a chain of things that ask to
stay together stays so as far as a page goes. Heights are in any one unit.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol


class Item(Protocol):
    """Something that stands on a page."""

    @property
    def height(self) -> float:
        """What it takes of the page."""

    @property
    def space(self) -> float:
        """What is left free above it, but not at the head of a page."""

    @property
    def keep(self) -> bool:
        """Whether it must be on the page of what comes next."""

    @property
    def head(self) -> Item | None:
        """What is said again above it where it comes first on a page."""

    @property
    def paint(self) -> Callable[[Any, float, float], None]:
        """Paints it with a painter, its upper left corner at x, y."""

    def divided(self, height: float) -> tuple[Item, Item] | None:
        """Two of it, the first no higher than that; None if it cannot be divided so."""


@dataclass
class Page:
    """The items of a page, each with its distance from the page's head."""

    items: list[tuple[float, Item]] = field(default_factory=list)
    filled: float = 0.0

    def place(self, item: Item) -> None:
        """Put it below what there is."""
        if self.items:
            self.filled += item.space
        self.items.append((self.filled, item))
        self.filled += item.height

    def room(self, height: float, item: Item) -> float:
        """What is left for an item on a page of that height."""
        return height - self.filled - (item.space if self.items else 0.0)


def break_pages(items: Sequence[Item], height: float) -> list[Page]:
    """The items on pages of that height, in order.

    Parameters
    ----------
    items
        What is to be placed.
    height
        Of every page.
    """
    pages = [Page()]
    first = 0
    while first < len(items):
        group = _together(items, first, height)
        wanted = sum(item.height + item.space for item in group) - group[0].space
        page = pages[-1]
        full = page.room(height, group[0]) < wanted
        if page.items and full and wanted <= height:
            _turn(pages, group[0])
        for item in group:
            _place(pages, item, height)
        first += len(group)
    return pages


def _together(items: Sequence[Item], first: int, height: float) -> list[Item]:
    """The items from the first on that ask to stay together, as far as a page goes."""
    group = [items[first]]
    filled = items[first].height
    for item in items[first + 1 :]:
        filled += item.space + item.height
        if not group[-1].keep or filled > height:
            break
        group.append(item)
    return group


def _turn(pages: list[Page], item: Item) -> None:
    pages.append(Page())
    if item.head is not None:
        pages[-1].place(item.head)


def _place(pages: list[Page], item: Item, height: float) -> None:
    while item.height > pages[-1].room(height, item):
        page = pages[-1]
        fresh = not page.items or [i for _, i in page.items] == [item.head]
        halves = item.divided(page.room(height, item))
        # what fits on a page of its own is not divided
        whole = height - (item.head.height if item.head is not None else 0.0)
        if halves is not None and (fresh or item.height > whole):
            page.place(halves[0])
            item = halves[1]
        elif fresh:
            break
        _turn(pages, item)
    pages[-1].place(item)
