"""What might help, before it is tried: Changes to be made for the text as it then stands."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial

from latchwork.findings import Finding
from latchwork.job.changes import Change, Value, append, drop, put
from latchwork.remedies.scene import Scene

Make = Callable[[str], Change]


@dataclass(frozen=True, slots=True)
class Candidate:
    """Changes that might remove a finding.

    ``on_site``: they write down what is to be done on site first, such as a wrong core put right;
    nothing of the design changes by them. ``takes_over``: another part takes over what was said
    of the one before, which its data sheet has to bear out. ``takes_out``: something that the file
    asks for is no more there. ``repairs``: what was found wrong on site is put right, no more.
    """

    makes: tuple[Make, ...]
    on_site: bool = False
    takes_over: bool = False
    takes_out: bool = False
    repairs: bool = False

    def __add__(self, other: Candidate) -> Candidate:
        return Candidate(
            self.makes + other.makes,
            self.on_site or other.on_site,
            self.takes_over or other.takes_over,
            self.takes_out or other.takes_out,
            self.repairs and other.repairs,
        )


Move = Callable[[Scene, Finding], Iterator[Candidate]]
"""Something that can be done about a finding, in all its variants, the most ordinary first."""


def to_put(path: str, value: Value, on_site: bool = False) -> Candidate:
    """``path`` shall say ``value``."""
    return Candidate((partial(put, path=path, value=value),), on_site)


def to_drop(path: str, on_site: bool = False) -> Candidate:
    """There shall be nothing at ``path``."""
    return Candidate((partial(drop, path=path),), on_site)


def to_repair(path: str, value: Value | None = None) -> Candidate:
    """What was found at ``path`` is put right: it is found no more, or is as ``value`` says."""
    made = to_drop(path, on_site=True) if value is None else to_put(path, value, on_site=True)
    return replace(made, repairs=True)


def to_append(path: str, value: Value) -> Candidate:
    """The list at ``path`` shall have one more item."""
    return Candidate((partial(append, path=path, value=value),))


NOTHING = Candidate(())
