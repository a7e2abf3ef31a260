"""Where everything stands in a YAML text: each key, each value, by offset.

Offsets count characters of the text, a leading byte order mark included.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

import yaml

from latchwork.job.problems import JobErrors
from latchwork.tree.read import Parser
from latchwork.tree.yaml_errors import explain

BREAK = re.compile("\r\n|[\n\r\x85\u2028\u2029]")
"""What ends a line in YAML."""

_COLON = re.compile(r"\s*:")
_BETWEEN = re.compile(r"\s*(?:#.*\s+)*")


@dataclass(frozen=True, slots=True)
class Spot:
    """A value. ``entries`` are those of a table or list; a list's are named "1", "2" …

    ``flow``: written in braces or brackets. ``end`` is just behind the value, comments left out.
    """

    start: int
    end: int
    table: bool = False
    flow: bool = False
    text: str | None = None
    """What a scalar reads as; None for a table or list."""
    entries: tuple[Entry, ...] = ()

    def entry(self, name: str) -> Entry | None:
        """The entry of that name."""
        return next((e for e in self.entries if e.name == name), None)


@dataclass(frozen=True, slots=True)
class Entry:
    """A name and its value, or an item of a list.

    ``start`` is where the key or the item's hyphen starts, ``mark_end`` just behind the colon or
    the hyphen. An item in brackets has no mark: there ``mark_end`` is where the item starts.
    """

    name: str
    start: int
    mark_end: int
    value: Spot


@dataclass(slots=True)
class _Open:
    table: bool
    flow: bool
    start: int
    done: list[Spot] = field(default_factory=list)


@lru_cache(maxsize=8)
def read_spots(text: str) -> Spot:
    """The table that a text is, with all places. Raises JobErrors where it is none."""
    shift = 1 if text.startswith("\ufeff") else 0
    parser = Parser(text[shift:])
    stack: list[_Open] = []
    root: Spot | None = None
    try:
        while parser.check_event():
            spot = _spot(parser.get_event(), text, shift, stack)
            if spot is not None and stack:
                stack[-1].done.append(spot)
            elif spot is not None:
                root = root or spot
    except yaml.YAMLError as error:
        raise JobErrors([explain(error, text.splitlines(), "")]) from None
    if root is None:
        return Spot(len(text), len(text), table=True)
    return root


def _spot(event: yaml.Event, text: str, shift: int, stack: list[_Open]) -> Spot | None:
    start, end = _at(event.start_mark) + shift, _at(event.end_mark) + shift
    if isinstance(event, yaml.ScalarEvent):
        if event.style in ("|", ">"):
            end = start + len(text[start:end].rstrip())
        return Spot(start, end, text=event.value)
    if isinstance(event, yaml.AliasEvent):
        return Spot(start, end, text="")
    if isinstance(event, yaml.CollectionStartEvent):
        table = isinstance(event, yaml.MappingStartEvent)
        stack.append(_Open(table, bool(event.flow_style), start))
        return None
    if not isinstance(event, yaml.CollectionEndEvent):
        return None
    done = stack.pop()
    entries = tuple(_pairs(done, text) if done.table else _items(done, text))
    if not done.flow:
        end = entries[-1].value.end if entries else done.start
    return Spot(done.start, end, done.table, done.flow, None, entries)


def _at(mark: Any) -> int:
    """The offset of a mark. Every event of a text has its marks."""
    return int(mark.index)


def _pairs(done: _Open, text: str) -> Iterator[Entry]:
    for key, value in zip(done.done[::2], done.done[1::2], strict=True):
        colon = _COLON.match(text, key.end)
        mark_end = key.end if colon is None else colon.end()
        yield Entry(key.text or "", key.start, mark_end, value)


def _items(done: _Open, text: str) -> Iterator[Entry]:
    for number, item in enumerate(done.done, start=1):
        start = mark_end = item.start
        if not done.flow:
            start = text.rfind("-", 0, item.start)
            while _BETWEEN.fullmatch(text, start + 1, item.start) is None:
                start = text.rfind("-", 0, start)
            mark_end = start + 1
        yield Entry(str(number), start, mark_end, item)


def line_start(text: str, at: int) -> int:
    """Where the line of an offset starts."""
    start = 0
    for match in BREAK.finditer(text, max(text.rfind("\n", 0, at), 0), at):
        start = match.end()
    return start


def break_before(text: str, at: int) -> int:
    """Where the break starts that ends at ``at``; ``at`` itself where there is none."""
    if text[max(at - 2, 0) : at] == "\r\n":
        return at - 2
    return at - 1 if BREAK.fullmatch(text[max(at - 1, 0) : at]) else at


def line_end(text: str, at: int) -> tuple[int, int]:
    """Where the line of an offset ends: before and behind its break."""
    match = BREAK.search(text, at)
    return (len(text), len(text)) if match is None else match.span()
