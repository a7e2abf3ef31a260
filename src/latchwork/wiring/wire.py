"""From a plan to its wiring."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

from latchwork.job import counted
from latchwork.plan.model import Plan, PlannedCable, PlannedDoor
from latchwork.wiring.arrange import arrange
from latchwork.wiring.deviate import Overlay, deviate
from latchwork.wiring.interlocks import interlocked
from latchwork.wiring.kit import firsts, kit
from latchwork.wiring.lower import absent, lower, taps
from latchwork.wiring.model import Trouble, Wiring
from latchwork.wiring.names import Names
from latchwork.wiring.sketch import OPEN, Draft, Sketch
from latchwork.wiring.strands import Layout, Strand, rows_of, strands
from latchwork.wiring.written import complain_of_doubles, drafts, written_rows

OWN_WIRING = "own wiring"


def wire(plan: Plan) -> Wiring:
    """Every core and lead of the site: the standard arrangements, the rows that the file writes in
    their place, the deviations over both.

    Deviations that hold only under a named condition ("when wet") are laid over with the others:
    it may come, and several at once. Raises JobErrors for names that do not exist and places
    beyond a cable's end.
    """
    names = Names(plan)
    rows = list(drafts(names, "", "", plan.job.wiring))
    arrangement: dict[str, str] = {}
    troubles: list[Trouble] = []
    joints = set(names.joints)
    shared = firsts(plan)
    runs = _runs(plan)
    own = {door_id: written_rows(names, door.door) for door_id, door in plan.doors.items()}
    leads = set(_leads([*rows, *(row for its in own.values() for row in its)]))
    drawn: dict[str, list[Draft]] = {}
    noted: dict[str, list[Trouble]] = {}
    # What doors share is joined once: by whose id comes first, in whatever order the file has them.
    for door_id in sorted(plan.doors, key=counted):
        wiring = plan.doors[door_id].door.wiring
        if isinstance(wiring, tuple):
            continue
        legs = frozenset(wiring or ())
        sketch = Sketch(door_id, runs.get(door_id, {}), own[door_id], legs, names.joints)
        arrangement[door_id] = arrange(sketch, kit(plan, door_id, shared))
        drawn[door_id] = [r for r in sketch.finish() if r.cores or (r.start, r.end) not in leads]
        leads.update(_leads(drawn[door_id]))
        noted[door_id] = sketch.troubles
        joints.update(sketch.joints)
    for door_id in plan.doors:
        rows += [*own[door_id], *drawn.get(door_id, ())]
        troubles += noted.get(door_id, ())
    arrangement = {door_id: arrangement.get(door_id, OWN_WIRING) for door_id in plan.doors}
    sketched = [plan.doors[door_id] for door_id in plan.doors if door_id in drawn]
    written = [plan.doors[door_id] for door_id in plan.doors if door_id not in drawn]
    told = {t.figures.get("device") for t in troubles}
    troubles += _left_out("nothing to join to", plan, sketched, rows, told)
    troubles += _left_out("in no row", plan, written, rows, told)
    complain_of_doubles(names, rows)
    return _laid_over(names, rows, joints, arrangement, troubles)


def _leads(rows: Iterable[Draft]) -> Iterator[tuple[str, str]]:
    """The ends of rows without a core."""
    return ((row.start, row.end) for row in rows if not row.cores)


def _left_out(
    code: str,
    plan: Plan,
    doors: Iterable[PlannedDoor],
    rows: Iterable[Draft],
    told: Collection[object],
) -> list[Trouble]:
    """Devices of ``doors`` that no row of any door touches, and nothing was told of."""
    ends = {end.rpartition(".")[0] for row in rows for end in (row.start, row.end)}
    return [
        Trouble(code, door.id, "", {"device": device})
        for door in doors
        for device in door.devices.values()
        if device not in ends and device not in told and plan.devices[device].part.terminals
    ]


def _laid_over(
    names: Names,
    rows: Sequence[Draft],
    joints: Collection[str],
    arrangement: Mapping[str, str],
    troubles: Sequence[Trouble],
) -> Wiring:
    plan = names.plan
    layout = Layout(rows, joints)
    tapped = taps(names, layout)
    planned = strands(rows, layout)
    planned_rows = rows_of(planned)
    found = [("", number, d) for number, d in enumerate(plan.job.found, 1)]
    for door in plan.doors.values():
        found += [(door.id, number, d) for number, d in enumerate(door.door.found, 1)]
    over = deviate(names, layout, planned, found)
    _reach_taps(names, over, tapped.keys())
    names.raise_problems()
    conductors, leads = lower(names, over, tapped)
    return Wiring(
        plan=plan,
        rows=rows_of(over.strands) if found else planned_rows,
        conductors=conductors,
        leads=leads,
        bridges=tuple(over.bridges),
        states=tuple(over.states),
        arrangement=arrangement,
        planned_rows=planned_rows,
        troubles=tuple(troubles),
        absent=absent(names, over, tapped),
        interlocked=interlocked(plan, (*conductors, *leads)),
    )


def _runs(plan: Plan) -> dict[str, dict[str, PlannedCable]]:
    """The cables that serve legs, by door and leg."""
    runs: dict[str, dict[str, PlannedCable]] = {}
    for cable in plan.cables.values():
        if cable.leg:
            runs.setdefault(cable.door, {})[cable.leg] = cable
    return runs


def _reach_taps(names: Names, over: Overlay, tapped: Collection[str]) -> None:
    """A spare core of a tapped cable is there as soon as something is joined to it at the tap; one
    that was found missing is not."""
    gone = {strand.core for strand in over.gone}
    spare = {core for core in tapped if core not in over.by_core and core not in gone}
    if not spare:
        return
    met = {end for strand in over.strands for end in strand.at}
    for tap_id, tap in names.plan.job.taps.items():
        cable = names.plan.cables[tap.on]
        for core in cable.type.cores:
            name = f"{cable.id}.{core.name}"
            if name in spare and f"{tap_id}.{core.name}" in met:
                over.by_core[name] = Strand(-1, cable.door, "", name, [OPEN, OPEN])
                over.strands.append(over.by_core[name])
                spare.discard(name)
