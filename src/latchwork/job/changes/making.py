"""Changes made for a text: a value put or dropped by its path, laid out as its neighbours are."""

from __future__ import annotations

from collections.abc import Iterable

from latchwork.job.changes.applying import (
    alone_on_line,
    anchor,
    entry_range,
    find,
    parent_of,
    value_range,
)
from latchwork.job.changes.change import Add, Change, Remove, Set
from latchwork.job.changes.spots import BREAK, Entry, Spot, break_before, line_start, read_spots
from latchwork.job.changes.writing import Lines, Value, behind, entry, inline
from latchwork.job.doors import DOOR
from latchwork.job.facts import SITE
from latchwork.job.names import LEGS, SLOTS
from latchwork.job.sections import JOB

STEP = "  "
"""One step in, where the file does not show its own."""


class NoSuchPlace(Exception):
    """There is nothing at a path, and nothing can be put there: ``known`` are the names that are
    there, one level up."""

    def __init__(self, path: str, known: Iterable[str] = ()) -> None:
        super().__init__(path)
        self.path = path
        self.known = tuple(known)


def put(text: str, path: str, value: Value) -> Change:
    """The Change after which ``path`` ("doors.D3.lock") says ``value``.

    What is missing above the path is written too; a part's name alone becomes a table where
    more is to be said of it. Raises NoSuchPlace where a text or a list stands in the way, and
    JobErrors where the text cannot be read.
    """
    root = read_spots(text)
    found = find(root, path)
    if found is not None:
        return _set(text, path, *found, value)
    head, name = parent_of(path)
    while head and find(root, head) is None:
        head, above = parent_of(head)
        value, name = _nested(head, name, value), above
    holder = _holder(root, head)
    if holder.table and (holder.entries or holder.flow):
        return _add(text, root, head, holder, name, value)
    if holder.text and head.rpartition(".")[2] in SLOTS and name != "part":
        upper = find(root, head)
        assert upper is not None
        return _set(text, head, *upper, {"part": holder.text, name: value})
    raise NoSuchPlace(path)


def append(text: str, path: str, value: Value) -> Change:
    """The Change that puts ``value`` at the end of the list at ``path``, which is started where
    there is none. Raises as ``put``."""
    root = read_spots(text)
    if find(root, path) is None:
        return put(text, path, Lines([value]))
    holder = _holder(root, path)
    if holder.table or holder.text is not None:
        raise NoSuchPlace(path)
    return _add(text, root, path, holder, str(len(holder.entries) + 1), value)


def drop(text: str, path: str) -> Change:
    """The Change after which there is nothing at ``path``; a table that it leaves empty goes too.

    Raises NoSuchPlace where nothing is there, JobErrors where the text cannot be read.
    """
    root = read_spots(text)
    found = find(root, path)
    if found is None:
        head, _ = parent_of(path)
        above = find(root, head) if head else None
        holder = above[1].value if above is not None else root
        raise NoSuchPlace(path, (e.name for e in holder.entries))
    holder, there = found
    while len(holder.entries) == 1 and parent_of(path)[0]:
        path, _ = parent_of(path)
        holder, there = find(root, path) or found
    index = holder.entries.index(there)
    start, end = entry_range(text, holder, there)
    start = _with_empty_line(text, start, end) if not holder.flow else start
    after = holder.entries[index - 1].name if index else None
    made = Remove(path, after, text[start:end], holder.flow)
    gap = start - anchor(text, root, made)
    return Remove(path, after, made.text, made.flow, gap)


def _holder(root: Spot, path: str) -> Spot:
    if not path:
        return root
    found = find(root, path)
    if found is None:
        raise NoSuchPlace(path)
    return found[1].value


def _nested(holder: str, name: str, value: Value) -> Value:
    """``value`` below ``name``, to be put where nothing is yet; ids and wiring go into lines."""
    whole = {name: value}
    in_lines = holder.count(".") == 0 or holder.endswith(".wiring") or isinstance(value, Lines)
    return Lines(whole) if in_lines else whole


def _set(text: str, path: str, holder: Spot, there: Entry, value: Value) -> Set:
    start, end = value_range(text, holder, there)
    old, spot = text[start:end], there.value
    if holder.flow:
        space = text[start : spot.start]
        return Set(path, old, space + inline(value, True))
    column = there.start - line_start(text, there.start)
    indent = " " * column
    new = behind(value, column + there.mark_end - there.start, indent, _step(text), _nl(text))
    in_lines = BREAK.search(text, start, spot.start) is not None
    comment = _comment(text, start if in_lines else spot.end)
    if new[:1] == " ":
        space = " " if in_lines else text[start : spot.start] or " "
        return Set(path, old, space + new[1:] + comment)
    return Set(path, old, comment + new)


def _comment(text: str, at: int) -> str:
    """The comment that ends the line of ``at``, with the space before it."""
    match = BREAK.search(text, at)
    rest = text[at : match.start() if match else len(text)]
    return rest if rest.lstrip()[:1] == "#" else ""


def _add(text: str, root: Spot, path: str, holder: Spot, name: str, value: Value) -> Add:
    full = f"{path}.{name}" if path else name
    after = _after(path, holder, name)
    if holder.flow:
        body = (
            f"{inline(name, True)}: {inline(value, True)}" if holder.table else inline(value, True)
        )
        if not holder.entries:
            return Add(full, None, body, True)
        if after is None:
            return Add(full, None, f"{body}, ", True, _gap(text, holder.start + 1))
        return Add(full, after, f", {body}", True)
    nl, step = _nl(text), _step(text)
    first = holder.entries[0]
    column = first.start - line_start(text, first.start)
    indent = " " * column
    if holder.table:
        body = entry(name, value, indent, step, nl)
    else:
        body = f"{indent}-{behind(value, column + 1, indent, step, nl)}"
    body = body if alone_on_line(text, first) or after is not None else body[column:]
    made = Add(full, after, body, False)
    at = anchor(text, root, made)
    spaced = _empty_between(text, holder, isinstance(value, Lines))
    ended = break_before(text, at) < at
    body = (nl if spaced else "") + body
    return Add(full, after, f"{body}{nl}" if ended else f"{nl}{body}", False)


def _gap(text: str, at: int) -> int:
    return len(text[at:]) - len(text[at:].lstrip())


def _empty_between(text: str, holder: Spot, in_lines: bool) -> bool:
    """Whether an empty line stands before the last of several entries; behind a single one, a new
    one in lines of its own gets one where the file has any."""
    if len(holder.entries) < 2:
        return in_lines and any(not line.strip() for line in BREAK.split(text)[:-1])
    before, last = holder.entries[-2], holder.entries[-1]
    between = text[before.value.end : last.start]
    return any(not line.strip() for line in BREAK.split(between)[1:-1])


def _with_empty_line(text: str, start: int, end: int) -> int:
    """``start``, or that of the empty line before where another one follows."""
    before = line_start(text, break_before(text, start))
    follows = end == len(text) or BREAK.match(text, end) is not None
    alone = start == line_start(text, start) and not text[before:start].strip()
    return before if follows and alone else start


def _after(path: str, holder: Spot, name: str) -> str | None:
    """The entry behind which a new one belongs: the nearest before it in the order of the format,
    else the last."""
    names = [e.name for e in holder.entries]
    order = _order(path)
    if name in order:
        place = order.index(name)
        before = [n for n in names if n in order and order.index(n) < place]
        if before:
            return max(before, key=order.index)
    return names[-1] if names else None


def _order(path: str) -> list[str]:
    steps = path.split(".") if path else []
    if not steps:
        return list(JOB)
    if steps == ["site"]:
        return list(SITE)
    if steps[-1] in ("runs", "wiring"):
        return list(LEGS)
    if steps == ["usual"] or (steps[0] == "doors" and len(steps) == 2):
        return list(DOOR)
    if steps[0] == "supplies" and len(steps) == 2:
        return ["part", "limit", "battery", "outputs"]
    return []


def _nl(text: str) -> str:
    match = BREAK.search(text)
    return match[0] if match else "\n"


def _step(text: str) -> str:
    """How far this file steps in: the first line that is further in than the one before."""
    for line in BREAK.split(text):
        body = line.lstrip(" ")
        if body and body[0] not in "#-" and body != line:
            return line[: len(line) - len(body)]
    return STEP
