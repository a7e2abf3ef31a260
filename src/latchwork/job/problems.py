"""Problems of a job file, all of them at once."""

from __future__ import annotations

import difflib
import functools
from collections.abc import Iterable, Mapping

from latchwork.findings.problems import Problem

__all__ = ["JobErrors", "Problem", "nearest", "one_of"]


_SHOWN = 12


class JobErrors(Exception):
    """A job file cannot be used. ``problems`` are all that was found, in the order of the file;
    with ``more``, others may show once these are put right."""

    def __init__(self, problems: Iterable[Problem], more: bool = False) -> None:
        self.more = more
        self.problems = tuple(sorted(problems, key=lambda p: (p.file, p.line, p.column)))
        super().__init__("\n".join(str(problem) for problem in self.problems))


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known name that ``word`` was most likely meant to be, or None."""
    return _nearest(word[:60].casefold(), tuple(known))


@functools.lru_cache(maxsize=1024)
def _nearest(word: str, known: tuple[str, ...]) -> str | None:
    names = {name.casefold(): name for name in known}
    # Some of the words of one name, as "card" of "card or code", or how a longer one begins.
    typed = set(word.split())
    within = [name for name in names if typed <= set(name.split())] if typed else []
    if len(within) == 1:
        return names[within[0]]
    close = difflib.get_close_matches(word, names, n=1, cutoff=0.6)
    return names[close[0]] if close else None


def one_of(word: str, known: Iterable[str], called: Mapping[str, str] | None = None) -> str:
    """What to say was expected where ``word`` is none of the known names: the nearest, or some.
    ``called``: what else people call them, and which of them that is."""
    names = list(known)
    close = nearest(word, names)
    if close is None and called:
        close = called.get(nearest(word, called) or "")
    if close is not None:
        return f"a known name; the nearest is {close}"
    if not names:
        return "a name that the file gives; it gives none of this kind"
    more = " …" if len(names) > _SHOWN else ""
    return "one of: " + ", ".join(names[:_SHOWN]) + more
