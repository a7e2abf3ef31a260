"""The silent faults of a site paired: the work of it, that can be done anywhere."""

from __future__ import annotations

from dataclasses import dataclass

from latchwork.behaviour import Case
from latchwork.faults.ask import Ask
from latchwork.faults.model import Fault, PairReport
from latchwork.faults.pairs import pairs
from latchwork.faults.prepare import groups_of, prepare_groups
from latchwork.faults.sections import Section, wiring_of
from latchwork.faults.spread import Tell


@dataclass(frozen=True, slots=True)
class PairLot:
    """A site whose silent faults are paired. ``order`` of its doors, by which the budget goes;
    ``doors`` that are asked for (None: all)."""

    sections: tuple[Section, ...]
    order: tuple[str, ...]
    doors: frozenset[str] | None
    ask: Ask


def run_pairs(lot: PairLot, tell: Tell) -> tuple[PairReport, dict[str, Fault]]:
    """Silent faults with a second one, and the faults that are told of."""
    wiring = wiring_of(lot.sections, lot.order)
    groups = groups_of(wiring, lot.doors)
    cells = prepare_groups(wiring, groups, Case.NOMINAL, lot.ask.wants)
    found = pairs(wiring, groups, cells, lot.ask.pairs, lot.doors, tell)
    named = {name for pair in found.pairs for name in (pair.silent, pair.second)}
    return found, {f.id: f for p in cells for f in p.cell.faults if f.id in named}
