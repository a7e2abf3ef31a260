"""What a Change is: one edit of a job file, frozen, with what it expects to find there.

Changes hold the very characters they take out and put in, so that each has an exact inverse and
tells when it no longer fits. They are made by ``latchwork.job.changes.making``.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Set:
    """Another value behind a key. ``old`` and ``new`` are all that stands behind its colon: to the
    end of its last line, or within braces to the end of the value."""

    path: str
    old: str
    new: str

    @property
    def inverse(self) -> Set:
        """The Change that takes this one back."""
        return Set(self.path, self.new, self.old)


@dataclass(frozen=True, slots=True)
class Add:
    """A new entry. ``after`` is the key it follows, None where it is the first; ``gap`` is how many
    characters of comments and empty lines stand between; ``flow``: within braces or brackets."""

    path: str
    after: str | None
    text: str
    flow: bool
    gap: int = 0

    @property
    def inverse(self) -> Remove:
        """The Change that takes this one back."""
        return Remove(self.path, self.after, self.text, self.flow, self.gap)


@dataclass(frozen=True, slots=True)
class Remove:
    """An entry taken out, the reverse of ``Add``."""

    path: str
    after: str | None
    text: str
    flow: bool
    gap: int = 0

    @property
    def inverse(self) -> Add:
        """The Change that takes this one back."""
        return Add(self.path, self.after, self.text, self.flow, self.gap)


Change = Set | Add | Remove


class DoesNotFit(Exception):
    """A Change does not fit the text: ``expected`` is what it was made for, ``found`` what stands
    there now ("" where nothing does)."""

    def __init__(self, change: Change, expected: str, found: str) -> None:
        super().__init__(f"{change.path}: expected {expected!r}, found {found!r}")
        self.change = change
        self.expected = expected
        self.found = found
