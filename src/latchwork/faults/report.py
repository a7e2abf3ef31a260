"""The fault run whole: single faults, attacks, silent pairs, worst cases."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain

from latchwork.faults.ask import Ask
from latchwork.faults.lot import (
    MOST_ROWS,
    Lot,
    LotReport,
    SectionReport,
    run_lot,
)
from latchwork.faults.model import AttackReport, Counts, Fault, FaultReport, PairReport
from latchwork.faults.paired import PairLot, run_pairs
from latchwork.faults.poles import added_up
from latchwork.faults.sections import Section, sections, shared_out
from latchwork.faults.spread import Cores, Over, Tell
from latchwork.plan import Plan
from latchwork.wiring import Wiring, wire

Progress = Tell
Paired = tuple[PairReport, Mapping[str, Fault]]


def faults(
    site: Plan | Wiring,
    doors: Iterable[str] | None = None,
    ask: Ask | None = None,
    progress: Progress | None = None,
    over: Over | None = None,
) -> FaultReport:
    """Every single fault and every attack at every door, or at the named ones.

    ``site``: a plan, or its wiring where that is at hand. Faults of a door's whole supply are
    tried: those of another door may be felt at this one. ``over``: where it is worked out; this
    machine's cores where nothing is said.
    """
    wiring = wire(site) if isinstance(site, Plan) else site
    return faults_of([(wiring, doors)], ask, progress, over)[0]


def faults_of(
    sites: Sequence[tuple[Wiring, Iterable[str] | None]],
    ask: Ask | None = None,
    progress: Progress | None = None,
    over: Over | None = None,
) -> list[FaultReport]:
    """Several sites (each with its doors, None: all) at once, each as ``faults`` takes it."""
    ask = ask or Ask()
    with over or Cores(ask.processes) as way:
        ran = run_sites(sites, ask, progress, way)
        paired: list[Paired | None] = [None] * len(ran)
        if ask.pairs:
            lots = [
                PairLot(tuple(r.sections), tuple(r.wiring.plan.doors), r.doors, ask) for r in ran
            ]
            way.run(run_pairs, lots, paired.__setitem__, progress)
    return [
        joined(each.wiring, each.came, each.work, ask, pairs)
        for each, pairs in zip(ran, paired, strict=True)
    ]


@dataclass
class Ran:
    """A site's sections, what came of each, and the work it took."""

    wiring: Wiring
    doors: frozenset[str] | None
    sections: list[Section]
    came: list[SectionReport]
    work: Counts
    rows: int = 0


def run_sites(
    sites: Sequence[tuple[Wiring, Iterable[str] | None]],
    ask: Ask,
    progress: Progress | None,
    way: Over,
) -> list[Ran]:
    """Run every section of several sites that has to do with the doors asked for."""
    ran = []
    lots: list[Lot] = []
    whose: list[tuple[Ran, list[int]]] = []
    for wiring, doors in sites:
        wanted = None if doors is None else frozenset(doors)
        some = sections(wiring, wanted)
        each = Ran(wiring, wanted, some, [], Counts())
        ran.append(each)
        for chosen in shared_out(some, way.lots(sum(len(s.doors) for s in some))):
            lots.append(Lot(tuple(some[n] for n in chosen), wanted, ask))
            whose.append((each, chosen))
    if len(lots) == 1:
        lots = [replace(lots[0], alone=True)]
    found: list[dict[int, SectionReport]] = [{} for _ in ran]
    place = {id(each): n for n, each in enumerate(ran)}

    def take(n: int, came: LotReport) -> None:
        each, chosen = whose[n]
        mine = found[place[id(each)]]
        each.work += came.work
        each.rows += sum(report.asked for report in came.sections)
        mine.update(zip(chosen, came.sections, strict=True))
        if each.rows > MOST_ROWS:
            for at, report in mine.items():
                if report.what_ifs:
                    mine[at] = replace(report, what_ifs={})

    way.run(run_lot, lots, take, progress)
    for each, mine in zip(ran, found, strict=True):
        each.came = [mine[n] for n in range(len(each.sections))]
    return ran


def joined(
    wiring: Wiring,
    came: Sequence[SectionReport],
    work: Counts,
    ask: Ask,
    paired: Paired | None = None,
) -> FaultReport:
    """What came of a site's sections as one report, by door in the order of the job."""
    rank = {door: n for n, door in enumerate(wiring.plan.doors)}
    doors = tuple(sorted((d for each in came for d in each.doors), key=rank.__getitem__))
    found = {door: some for each in came for door, some in each.consequences.items()}
    rows = {door: some for each in came for door, some in each.what_ifs.items()}
    told: dict[str, Fault] = {}
    for each in came:
        told.update(each.faults)
    pairs, more = paired or (added_up([each.poles for each in came if each.poles]), {})
    of_site = frozenset().union(*(each.of_site for each in came))
    tried = [each.attacks for each in came if each.attacks is not None]
    return FaultReport(
        doors,
        tuple(chain.from_iterable(found[door] for door in doors)),
        told | dict(more),
        sum(each.listed for each in came) + len(of_site),
        tuple(sorted({name for each in came for name in each.unseen})),
        sum((each.counts for each in came), work),
        _attacked(tried, rank.__getitem__) if ask.attacks else None,
        pairs,
        tuple(chain.from_iterable(rows.get(door, ()) for door in doors)),
        tuple(chain.from_iterable(each.drained for each in came)),
    )


def _attacked(reports: Sequence[AttackReport], rank: Callable[[str], int]) -> AttackReport:
    """Several reports as one, by door."""
    opened = [a for each in reports for a in each.opened]
    coverage = [c for each in reports for c in each.coverage]
    return AttackReport(
        tuple(sorted(opened, key=lambda a: rank(a.attack.door))),
        tuple(sorted(coverage, key=lambda c: rank(c.door))),
        sum((each.counts for each in reports), Counts()),
    )
