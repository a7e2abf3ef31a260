"""The fault run: every door, every single fault, in the 28 situations."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from latchwork.behaviour import Case, climate_of
from latchwork.behaviour.curves import cell_curves, grid, supply_volt
from latchwork.behaviour.network import Curve, Network, Things, network, values
from latchwork.behaviour.place import Cells, Group, cells, groups, together
from latchwork.behaviour.run import Solved
from latchwork.behaviour.script import CURVE_MODES, script
from latchwork.behaviour.situations import DoorInputs
from latchwork.circuit import Work
from latchwork.faults.consequences import (
    EFFECTS,
    Cases,
    DoorFacts,
    Seen,
    States,
    door_facts,
    judge,
    lock_states,
)
from latchwork.faults.engine import Cell, Member, names, situations, solve_members
from latchwork.faults.listing import Listing
from latchwork.faults.model import Consequence, Counts, Effect, Fault, FaultReport
from latchwork.wiring import Wiring

Progress = Callable[[int, int], None]
TOLD = frozenset(
    (Effect.TRAPS, Effect.BLOCKS, Effect.LATCH, Effect.OPENS, Effect.STOPS, Effect.SILENT)
)


@dataclass(frozen=True, slots=True)
class Prepared:
    """A cell with all that running and judging it needs. ``sound``: without places for faults."""

    cell: Cell
    facts: tuple[DoorFacts, ...]
    sound: Things
    supplies: tuple[str, ...]


def prepare(
    wiring: Wiring, doors: Iterable[str] | None = None, case: Case = Case.NOMINAL
) -> list[Prepared]:
    """Every cell of the site with its faults; only those with one of ``doors`` where given."""
    wanted = None if doors is None else frozenset(doors)
    climate = climate_of(wiring.plan)
    apart: list[tuple[Group, Cells]] = []
    out: list[Prepared] = []
    for group in groups(wiring, leads_apart=True):
        if wanted is not None and not wanted & set(group.doors):
            continue
        part = cells(group)
        if part is None or len(part.cells) == 1:
            if group.doors:
                plus, minus = (part.plus, part.minus) if part else ("", "")
                out.append(_prepared(wiring, group, group, plus, minus, None, case))
        else:
            apart.append((group, part))
    curves = cell_curves([p for _, p in apart], (case,), climate)
    for n, (group, part) in enumerate(apart):
        for cell in part.cells:
            if wanted is not None and not wanted & set(cell.doors):
                continue
            others = np.array(
                [
                    sum(
                        (curves[n, case, c.doors].amps[m] for c in part.cells if c is not cell),
                        np.zeros(len(grid(1.0))),
                    )
                    for m in CURVE_MODES
                ]
            )
            thing = together((part.hub, cell.things), part.minus)
            whole = Group(thing, cell.doors, group.supplies)
            curve = Curve(
                part.plus, part.minus, grid(supply_volt(part.hub)), (0.0,) * others.shape[1]
            )
            out.append(
                _prepared(wiring, whole, group, part.plus, part.minus, (curve, others), case)
            )
    return out


def _prepared(
    wiring: Wiring,
    cell: Group,
    group: Group,
    plus: str,
    minus: str,
    rest: tuple[Curve, np.ndarray] | None,
    case: Case,
) -> Prepared:
    sound = cell.things if rest is None else replace(cell.things, curve=rest[0])
    listing = Listing(wiring, sound, plus, minus)
    thing = listing.things()
    built: Network = network(thing)
    inputs = [DoorInputs(wiring.plan, door, group.supplies) for door in cell.doors]
    cases = tuple(situations(i) for i in inputs)
    made = Cell(
        built,
        values(thing, case, climate_of(wiring.plan)),
        names(built),
        rest[1] if rest is not None else None,
        tuple(listing.faults),
        cell.doors,
        tuple(script(built, i, c) for i, c in zip(inputs, cases, strict=True)),
        cases,
    )
    facts = tuple(door_facts(wiring.plan, d, built) for d in cell.doors)
    return Prepared(made, facts, sound, group.supplies)


def alike(prepared: Sequence[Prepared]) -> Iterator[list[Prepared]]:
    """Cells of one shape together."""
    found: dict[object, list[Prepared]] = defaultdict(list)
    for item in prepared:
        grid_v = tuple(item.cell.values.curve_v)
        found[item.cell.network.shape, grid_v].append(item)
    yield from found.values()


def run_alike(
    together: Sequence[Prepared], work: Work
) -> tuple[list[Consequence], dict[str, Fault], Counts]:
    """Every fault of cells of one shape, judged."""
    members: list[Member] = []
    for c, item in enumerate(together):
        for d, facts in enumerate(item.facts):
            if facts.bolts:
                members.append((c, d, None))
                members += [(c, d, n) for n in range(len(item.cell.faults))]
    sound: dict[tuple[int, int], tuple[States, Seen]] = {}
    consequences: list[Consequence] = []
    told: dict[str, Fault] = {}
    counts = Counts()
    for some, solved in solve_members([p.cell for p in together], members, work):
        counts += counted(solved)
        seen_by = Looks(solved)
        for c, d, rows in _by_door(some):
            item, facts = together[c], together[c].facts[d]
            states, seen = seen_by.states(facts)[:, rows], seen_by.seen(facts)[:, rows]
            if some[rows.start][2] is None:
                sound[c, d] = states[:, :1], seen[:, :1]
            cases = Cases(item.cell.situations[d])
            judged = judge(states, seen, *sound[c, d], facts, cases)
            door = item.cell.doors[d]
            for m, (_, _, n) in enumerate(some[rows]):
                if n is None or judged.worst[m] not in TOLD:
                    continue
                fault = item.cell.faults[n]
                told[fault.id] = fault
                consequences.append(
                    Consequence(
                        fault.id, door, judged.worst[m], judged.situation[m], judged.also(m)
                    )
                )
    return consequences, told, counts


def _by_door(some: Sequence[Member]) -> Iterator[tuple[int, int, slice]]:
    """Runs of members of one door."""
    at = 0
    while at < len(some):
        c, d, _ = some[at]
        end = at
        while end < len(some) and some[end][:2] == (c, d):
            end += 1
        yield c, d, slice(at, end)
        at = end


class Looks:
    """Lock states and seen flags of what was solved, worked out once for like doors."""

    def __init__(self, solved: Solved) -> None:
        self._solved = solved
        self._states: dict[object, States] = {}
        self._seen: dict[object, Seen] = {}

    def states(self, facts: DoorFacts) -> States:
        """Locks x members x situations x moments."""
        key = facts.bolts, facts.drawn, facts.unlocks
        if key not in self._states:
            self._states[key] = lock_states(self._solved, facts)
        return self._states[key]

    def seen(self, facts: DoorFacts) -> Seen:
        """Flags x members x situations."""
        key = facts.seen_flags
        if key not in self._seen:
            flags = [self._solved.rows("flags", f, held=True) for f in key]
            none = np.zeros((0, len(self._solved.scripts), 1), dtype=bool)
            self._seen[key] = np.stack(flags) if flags else none
        return self._seen[key]


def counted(solved: Solved) -> Counts:
    """What was run and came to rest."""
    points = len(solved.scripts) * len(solved.scripts[0].columns)
    done = solved.all_solved()
    return Counts(
        points, int(done.sum()), points - int(done.sum()), int(solved.any_chatter().sum())
    )


def faults(
    wiring: Wiring, doors: Iterable[str] | None = None, progress: Progress | None = None
) -> FaultReport:
    """Every single fault of every door (or of the cells of the named ones)."""
    work = Work()
    prepared = prepare(wiring, doors)
    consequences: list[Consequence] = []
    told: dict[str, Fault] = {}
    counts = Counts()
    done = 0
    for together_ in alike(prepared):
        found, its, more = run_alike(together_, work)
        consequences += found
        told |= its
        counts += more
        done += len(together_)
        if progress is not None:
            progress(done, len(prepared))
    every = sum(len(p.cell.faults) for p in prepared)
    counts += Counts(
        faults=every,
        eliminations=work.eliminations,
        newton_steps=work.newton_steps,
        reductions=work.reductions,
    )
    unseen = tuple(f.id for p in prepared for f in p.cell.faults if not f.seen_by_dc)
    order = {door: n for n, door in enumerate(wiring.plan.doors)}
    consequences.sort(key=lambda c: (order[c.door], EFFECTS.index(c.effect), c.fault))
    return FaultReport(tuple(consequences), told, counts, unseen, ())
