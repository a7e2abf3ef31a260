"""Changes laid on a text: each rewrites its own lines and nothing else."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from latchwork.job.changes.change import Add, Change, DoesNotFit, Remove, Set
from latchwork.job.changes.spots import (
    BREAK,
    Entry,
    Spot,
    break_before,
    line_end,
    line_start,
    read_spots,
)
from latchwork.job.model import Job
from latchwork.job.reader import read_job_text

_COMMENT = r"[ \t]*(?:#[^\r\n]*)?"
_BETWEEN = re.compile(rf"(?:{_COMMENT}(?:{BREAK.pattern}))*{_COMMENT}")
"""Lines that say nothing: empty ones and comments."""


@dataclass(frozen=True, slots=True)
class Changed:
    """A text after Changes, the job it says, and the Changes that take them back in order."""

    text: str
    job: Job
    inverse: tuple[Change, ...]


def apply(text: str, change: Change) -> tuple[str, Change]:
    """The text with one Change, and the Change that takes it back.

    Raises DoesNotFit where the text is not what the Change was made for, JobErrors where it
    cannot be read at all.
    """
    root = read_spots(text)
    match change:
        case Set():
            start, end = _set_range(text, root, change)
            old, new = change.old, change.new
        case Add():
            start = end = _add_at(text, root, change)
            old, new = "", change.text
        case Remove():
            start, end = _remove_range(text, root, change)
            old, new = change.text, ""
    if text[start:end] != old:
        raise DoesNotFit(change, old, text[start:end])
    return text[:start] + new + text[end:], change.inverse


def change_job(text: str, changes: Iterable[Change], file: str) -> Changed:
    """A job's text with all ``changes`` in order, read anew.

    Raises DoesNotFit as ``apply``, and JobErrors with the reader's problems where the outcome is
    no job; nothing is changed then.
    """
    inverse: list[Change] = []
    for change in changes:
        text, back = apply(text, change)
        inverse.insert(0, back)
    return Changed(text, read_job_text(text, file), tuple(inverse))


def parent_of(path: str) -> tuple[str, str]:
    """The path of what holds an entry, and the entry's own name."""
    head, _, name = path.rpartition(".")
    return head, name


def find(root: Spot, path: str) -> tuple[Spot, Entry] | None:
    """The entry at a path, and the table or list it stands in."""
    holder, entry = root, None
    for name in path.split("."):
        if entry is not None:
            holder = entry.value
        entry = holder.entry(name)
        if entry is None:
            return None
    return (holder, entry) if entry is not None else None


def value_range(text: str, holder: Spot, entry: Entry) -> tuple[int, int]:
    """All that stands behind an entry's mark: see ``Set``."""
    if holder.flow:
        return entry.mark_end, entry.value.end
    return entry.mark_end, line_end(text, max(entry.value.end, entry.mark_end))[0]


def entry_range(text: str, holder: Spot, entry: Entry) -> tuple[int, int]:
    """All that goes when an entry goes: its lines, or its part of the braces."""
    index = holder.entries.index(entry)
    end = entry.value.end
    if holder.flow or not alone_on_line(text, entry):
        if index == 0:
            more = holder.entries[1:]
            return entry.start, more[0].start if more else end
        return holder.entries[index - 1].value.end, end
    start, (last, behind) = line_start(text, entry.start), line_end(text, max(end, entry.mark_end))
    if behind == last and start > 0:
        # The text ends without a break: the one before goes with the entry.
        start = break_before(text, start) if index else start
    return start, behind


def alone_on_line(text: str, entry: Entry) -> bool:
    """Whether nothing stands before an entry on its line."""
    return not text[line_start(text, entry.start) : entry.start].strip()


def anchor(text: str, root: Spot, change: Add | Remove) -> int:
    """The offset from which a gap is counted: behind the entry before, or where the table starts.
    Raises DoesNotFit."""
    path, _ = parent_of(change.path)
    holder, mark_end = root, None
    if path:
        found = find(root, path)
        if found is None:
            raise DoesNotFit(change, path, "")
        holder, mark_end = found[1].value, found[1].mark_end
    if holder.text is not None or (holder.flow is not change.flow and holder.entries):
        raise DoesNotFit(change, change.text, text[holder.start : holder.end])
    if change.after is not None:
        before = holder.entry(change.after)
        if before is None:
            raise DoesNotFit(change, change.after, ", ".join(e.name for e in holder.entries))
        end = before.value.end
        return end if holder.flow else line_end(text, max(end, before.mark_end))[1]
    if holder.flow:
        return holder.start + 1
    if mark_end is None or not holder.entries or not alone_on_line(text, holder.entries[0]):
        return holder.start
    return line_end(text, mark_end)[1]


def _set_range(text: str, root: Spot, change: Set) -> tuple[int, int]:
    found = find(root, change.path)
    if found is None:
        raise DoesNotFit(change, change.old, "")
    return value_range(text, *found)


def _add_at(text: str, root: Spot, change: Add) -> int:
    path, name = parent_of(change.path)
    start = anchor(text, root, change)
    holder = find(root, path)[1].value if path else root  # type: ignore[index]  # anchor found it
    there = holder.entry(name) if holder.table else None
    if there is not None:
        raise DoesNotFit(change, "", text[slice(*entry_range(text, holder, there))])
    at = start + change.gap
    return at if _BETWEEN.fullmatch(text, start, at) else start


def _remove_range(text: str, root: Spot, change: Remove) -> tuple[int, int]:
    found = find(root, change.path)
    if found is None:
        raise DoesNotFit(change, change.text, "")
    holder, entry = found
    start, end = entry_range(text, holder, entry)
    # An entry may go with lines before it that came with it.
    wider = end - len(change.text)
    if break_before(text, anchor(text, root, change)) <= wider < start:
        start = wider
    return start, end
