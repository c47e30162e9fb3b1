"""Where pages break."""

from dataclasses import dataclass, replace

import pytest

from editor.page_breaks import break_pages


@dataclass
class Block:
    """An item that can be divided at whole units, unless it is solid."""

    name: str
    height: float
    space: float = 0.0
    keep: bool = False
    head: "Block | None" = None
    solid: bool = True

    def paint(self, painter, x, y):
        """Nothing to see."""

    def divided(self, height):
        """At the last whole unit."""
        if self.solid or height < 1:
            return None
        return replace(self, height=int(height)), replace(self, height=self.height - int(height))


def pages_of(*items, height=10):
    """The names on each page."""
    pages = break_pages(items, height)
    for page in pages:
        assert page.filled <= height or len(page.items) == 1
        for (at, item), (after, _) in zip(page.items, page.items[1:], strict=False):
            assert at + item.height <= after
    return ["".join(item.name for _, item in page.items) for page in pages]


HEAD = Block("H", 1, keep=True)


def rows(names, height=2.0, **more):
    """Rows of a table under HEAD."""
    return [Block(name, height, head=HEAD, **more) for name in names]


def test_rows_go_over_whole_and_the_head_with_them():
    """Of ten units the head takes one, so four rows of two find room."""
    assert pages_of(HEAD, *rows("abcdefghi")) == ["Habcd", "Hefgh", "Hi"]


def test_a_heading_stays_with_the_table():
    """Heading, head of the table and first row need 5 of the 4 that are left."""
    heading = Block("#", 2, keep=True)
    assert pages_of(Block("x", 6), heading, HEAD, *rows("ab")) == ["x", "#Hab"]
    assert pages_of(Block("x", 5), heading, HEAD, *rows("ab")) == ["x#Ha", "Hb"]


def test_rows_that_keep_together_go_together():
    """The last row is not left alone under the head."""
    first, second, third, fourth = rows("abcd")
    third = replace(third, keep=True)
    assert pages_of(HEAD, first, second, third, fourth, height=8) == ["Hab", "Hcd"]


def test_what_is_higher_than_a_page_is_divided():
    """And what fits on a page is not, although it could be."""
    assert pages_of(Block("x", 8), Block("y", 5, solid=False)) == ["x", "y"]
    assert pages_of(Block("x", 8), Block("y", 15, solid=False)) == ["xy", "y", "y"]
    tall = rows("t", height=25, solid=False)
    assert pages_of(HEAD, *tall, *rows("u")) == ["Ht", "Ht", "Htu"]


def test_what_cannot_be_divided_has_a_page_of_its_own():
    """It sticks out at the foot rather than being lost."""
    assert pages_of(Block("x", 2), Block("y", 15), Block("z", 2)) == ["x", "y", "z"]


def test_the_space_above_is_not_kept_at_the_head_of_a_page():
    """Three of 3 and 0.5 between them fill a page of 10 exactly."""
    items = [Block(name, 3, space=0.5) for name in "abcdefg"]
    assert pages_of(*items) == ["abc", "def", "g"]


def test_a_chain_longer_than_a_page_is_broken_all_the_same():
    """Everything that asks to stay together cannot; nothing is lost."""
    chain = [Block(name, 4, keep=True) for name in "abcde"]
    assert "".join(pages_of(*chain)) == "abcde"


def test_a_heading_is_not_left_behind_by_a_chain_that_is_longer_than_a_page():
    """As much of the chain as a page takes follows it there; the rest goes over."""
    heading = Block("#", 1, keep=True)
    chain = [Block(name, 3, keep=True) for name in "abcd"]
    assert pages_of(Block("x", 8), heading, *chain) == ["x", "#abc", "d"]
    rest = rows("abcde", 3, keep=True)
    assert pages_of(Block("x", 8), heading, *rest) == ["x", "#abc", "Hde"]


@pytest.mark.parametrize("height", [3.0, 4.5, 7.0, 11.0])
def test_nothing_is_lost_or_said_twice(height):
    """The rows of a long table come in order, whatever the page."""
    names = "abcdefghijklmnopqrstuvwxyz"
    found = "".join(pages_of(HEAD, *rows(names), height=height))
    assert found.replace("H", "") == names


def test_nothing_gives_one_empty_page():
    """There is always a page."""
    assert pages_of() == [""]
