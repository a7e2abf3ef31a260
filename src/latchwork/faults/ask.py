"""What is asked of a fault run."""

from __future__ import annotations

from dataclasses import dataclass

from latchwork.faults.model import Fault


@dataclass(frozen=True, slots=True)
class Ask:
    """What is asked for besides single faults at nominal figures.

    ``fault``: words that a fault's name must hold; ``only``: the faults' names; ``near``: faults
    of the doors' own cells alone; ``here``: faults of a cell straight at the doors that are asked
    for, felt there or not, as where it is known that they were, and nobody asks who else notices;
    ``reasons``: how each effect comes about and where a meter tells (without, that is left empty);
    ``pairs``: at most so many silent pairs; ``poles``: where none are asked for, those of contacts
    that stand in for each other; ``worst``: least and most volts too; ``all_rows``: every what-if
    as a row, where they are no more than ``MOST_ROWS``; ``processes``: how many at a time (None:
    this machine's cores).
    """

    fault: str = ""
    only: frozenset[str] | None = None
    near: bool = False
    here: bool = False
    reasons: bool = True
    attacks: bool = True
    pairs: int = 0
    poles: bool = False
    worst: bool = False
    all_rows: bool = False
    processes: int | None = None

    def wants(self, fault: Fault) -> bool:
        """Whether a fault is asked for."""
        if self.only is not None and fault.id not in self.only:
            return False
        name = fault.id.casefold()
        return all(word in name for word in self.fault.casefold().split())
