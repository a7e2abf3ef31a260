"""Connections, cables, and what to order, from a site's wiring."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from latchwork.answers.ordering import cable_figures, part_figures
from latchwork.answers.schedules.model import CableRow, ConnectionRow, OrderRow
from latchwork.answers.schedules.stands import Stands
from latchwork.drawing.colours import core_colour
from latchwork.drawing.cores import cores
from latchwork.drawing.index import Index, Joining, Sort, added, ends, within_joint
from latchwork.parts.model import CableType
from latchwork.plan import Plan
from latchwork.quantities import System
from latchwork.wiring import Bridge, Conductor, Wiring
from latchwork.wiring.sketch import OPEN

ALLOWANCE = 1.10
"""Ten in a hundred more cable than the route (common practice, no source)."""
TAIL_M = 2.0
"""At each end of a cable (common practice, no source)."""


def connections(index: Index, stands: Stands) -> tuple[ConnectionRow, ...]:
    """Every end of every wire, sorted by where one stands, then device, then terminal."""
    plan = _plan_of(index.wiring)
    pieces: list[tuple[tuple[object, ...], ConnectionRow]] = []
    wires: list[Joining] = [
        *index.wiring.conductors,
        *(lead for lead in index.wiring.leads if not within_joint(lead)),
        *index.wiring.bridges,
    ]
    for wire in wires:
        pair = ends(wire)
        for here, there in (pair, pair[::-1]):
            row = _connection(index, stands, wire, here, there, plan)
            pieces.append((stands.order(here), row))
    for planned in index.wiring.planned_rows:
        for core in planned.cores:
            for here, there in ((planned.start, planned.end), (planned.end, planned.start)):
                if core not in plan.there and here != OPEN:
                    lost = _missing(index, stands, core, here, there)
                    pieces.append((stands.order(here), lost))
    pieces.sort(key=lambda piece: (piece[0], piece[1].cable, piece[1].core, piece[1].to))
    return tuple(row for _, row in pieces)


@dataclass(frozen=True, slots=True)
class _Plan:
    """``ends``: core -> its two ends in the plan; ``changed``: cores that are on others;
    ``there``: cores that are on anything."""

    ends: Mapping[str, tuple[str, str]]
    changed: Collection[str]
    there: Collection[str]


def _plan_of(wiring: Wiring) -> _Plan:
    return _Plan(
        {core: (row.start, row.end) for row in wiring.planned_rows for core in row.cores},
        {core for row in wiring.rows if not row.planned for core in row.cores},
        {f"{piece.cable}.{piece.core}" for piece in wiring.conductors},
    )


def _missing(index: Index, stands: Stands, core: str, here: str, there: str) -> ConnectionRow:
    """One end of a core that the plan has there and that was not found."""
    owner, stand = stands.owner(here), stands.of(here)
    device = index.plan.devices.get(owner.id) if owner.sort is Sort.DEVICE else None
    cable, _, name = core.rpartition(".")
    return ConnectionRow(
        stand.kind,
        stand.at,
        owner.id,
        device.part.name if device else owner.sort.value,
        owner.pin if device or owner.sort is Sort.TAP else "",
        "missing",
        cable,
        name,
        core_letters(index.plan.cables[cable].type, name),
        there,
        "open" if there == OPEN else "",
        True,
        (here, there),
    )


def _connection(
    index: Index,
    stands: Stands,
    wire: Joining,
    here: str,
    there: str,
    plan: _Plan,
) -> ConnectionRow:
    owner, stand = index.owners[here], stands.of(here)
    device = index.plan.devices.get(owner.id) if owner.sort is Sort.DEVICE else None
    cable = core = letters = ""
    whole = ""
    if isinstance(wire, Conductor):
        cable, core = wire.cable, wire.core
        letters = core_letters(index.plan.cables[cable].type, core)
        whole = f"{cable}.{core}"
    kind = (
        "core" if isinstance(wire, Conductor) else "bridge" if isinstance(wire, Bridge) else "lead"
    )
    cut = Sort.CUT in (owner.sort, index.owners[there].sort)
    differs = whole in plan.changed or cut or kind == "bridge" or added(wire)
    return ConnectionRow(
        stand.kind,
        stand.at,
        owner.id,
        device.part.name if device else owner.sort.value,
        owner.pin if device or owner.sort is Sort.TAP else "",
        kind,
        cable,
        core,
        letters,
        there.removesuffix("~"),
        _far(index, there),
        differs,
        plan.ends.get(whole, ("", "")) if differs else ("", ""),
    )


def _far(index: Index, node: str) -> str:
    """What a wire goes to that is no terminal: a key of words, "" for a terminal or a joint."""
    sort = index.owners[node].sort
    if sort is Sort.CUT:
        return "broken" if node[-1] in "ab" else "on the way"
    return "open" if sort is Sort.OPEN else ""


def core_letters(kind: CableType, name: str) -> str:
    """The letters of IEC 60757 for a core, "" where its colour has none."""
    colour = next((c.colour for c in kind.cores if c.name == name), name)
    return core_colour(colour).letters


def cables(index: Index, stands: Stands) -> tuple[CableRow, ...]:
    """Every cable of the job."""
    lists = cores(index)
    rows = []
    for cable in index.plan.cables.values():
        kind, length, ohm = cable.type, cable.length_m, cable.core_ohm
        start, end = stands.ends_of(cable.id)
        mine = lists[cable.id]
        rows.append(
            CableRow(
                cable.id,
                cable.door,
                start,
                end,
                kind.name,
                tuple(mine.used),
                tuple(mine.spare),
                tuple(mine.faulty),
                tuple(mine.missing),
                length.value,
                length.certainty.value,
                length.value * ALLOWANCE + 2.0 * TAIL_M,
                2.0 * ohm.value,
                2.0 * ohm.low,
                2.0 * ohm.high,
            )
        )
    return tuple(rows)


def order(plan: Plan, rows: Iterable[CableRow]) -> tuple[OrderRow, ...]:
    """Parts by name, batteries and fuses of supplies, cable by type."""
    parts: dict[tuple[str, str], list[str]] = {}
    for device in plan.devices.values():
        part = device.part
        figures = part_figures(part.figures, part.facts.get("current_kind") == "ac")
        parts.setdefault((part.name, figures), []).append(device.id)
    found = [
        OrderRow(name, figures, "part", len(ids), None, tuple(ids))
        for (name, figures), ids in parts.items()
    ]
    found += _batteries(plan)
    found += _fuses(plan)
    cut: dict[tuple[str, str], list[CableRow]] = {}
    for row in rows:
        figures = cable_figures(plan.cables[row.id].type, System(plan.job.site.units))
        cut.setdefault((row.type, figures), []).append(row)
    found += [
        OrderRow(
            name,
            # Most cables are called by their figures.
            "" if _bare(name) == _bare(figures) else figures,
            "cable",
            len(some),
            sum(r.cut_m for r in some),
            tuple(r.id for r in some),
        )
        for (name, figures), some in cut.items()
    ]
    return tuple(found)


def _bare(name: str) -> str:
    return name.replace("×", "x").replace(".0 ", " ")


def _batteries(plan: Plan) -> list[OrderRow]:
    blocks: dict[str, list[tuple[str, int]]] = {}
    for supply in plan.supplies.values():
        if supply.battery_blocks and supply.battery_ah is not None:
            volts = supply.device.part.figures["battery_block_v"].value
            name = f"battery {volts:g} V {supply.battery_ah.value:g} Ah"
            blocks.setdefault(name, []).append((supply.id, supply.battery_blocks))
    return [
        OrderRow(name, "", "battery", sum(n for _, n in where), None, tuple(s for s, _ in where))
        for name, where in blocks.items()
    ]


def _fuses(plan: Plan) -> list[OrderRow]:
    fuses: dict[str, list[str]] = {}
    for supply in plan.job.supplies.values():
        for output, use in supply.outputs.items():
            rating = use.figures.get("rating")
            if rating is not None:
                fuses.setdefault(f"fuse {rating.value:g} A", []).append(f"{supply.id}.{output}")
    return [OrderRow(name, "", "fuse", len(at), None, tuple(at)) for name, at in fuses.items()]
