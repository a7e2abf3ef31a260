"""What a site's drawing shows: supplies and shared devices, doors, and the cables between them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from latchwork.drawing.index import Index, Owner, Sort
from latchwork.drawing.subject import SOURCES
from latchwork.elements import Figure
from latchwork.plan import PlannedDevice
from latchwork.wiring import Conductor, Lead

IN_DOOR = frozenset({"outside", "inside", "door", "frame", "weather"})
"""Places that belong to a door's own elevation."""

Node = tuple[str, str]
"""A block and the name of its pin."""


@dataclass(frozen=True, slots=True)
class Line:
    """A cable (or, with ``cable`` "", leads) between two blocks."""

    id: str
    cable: str
    start: Node
    end: Node
    length_m: Figure | None


@dataclass(frozen=True, slots=True)
class SiteMap:
    """Blocks by id: devices of the site, of doors but beside the supply, and taps; then doors."""

    shared: tuple[Owner, ...]
    doors: tuple[str, ...]
    lines: tuple[Line, ...]
    within: Mapping[str, tuple[str, ...]]
    """Door -> its cables that do not leave it."""


def site_map(index: Index) -> SiteMap:
    """The blocks of a site and what runs between them: a cable once, and once more to each of the
    site's devices that nothing else would lead to."""
    plan = index.plan
    lines: dict[tuple[str, str, str], Line] = {}
    within: dict[str, dict[str, None]] = {}
    for cable, cores in _by_cable(index).items():
        for line in _cable_lines(index, cable, cores):
            if line.start[0] == line.end[0]:
                within.setdefault(line.start[0], {})[cable] = None
            else:
                lines.setdefault((cable, line.start[0], line.end[0]), line)
    joined = {frozenset((line.start[0], line.end[0])) for line in lines.values()}
    for lead in index.wiring.leads:
        short = _lead_line(index, lead)
        if short is not None and frozenset((short.start[0], short.end[0])) not in joined:
            lines.setdefault(("", short.start[0], short.end[0]), short)
    met = _met(lines.values())
    lone = {d.id for d in plan.devices.values() if not d.door} - met
    for core in index.wiring.conductors if lone else ():
        way = _core_line(index, core)
        if way is not None and lone & {way.start[0], way.end[0]}:
            lines.setdefault((core.cable, way.start[0], way.end[0]), way)
    met = _met(lines.values())
    shared = [
        Owner(Sort.DEVICE, device.id, "")
        for device in plan.devices.values()
        if device.id == _block(device) and (not device.door or device.id in met)
    ]
    shared += [Owner(Sort.TAP, tap, "") for tap in plan.job.taps if tap in met]
    shared += [Owner(Sort.JOINT, name, "") for name in plan.job.joints if name in met]
    return SiteMap(
        tuple(shared),
        tuple(plan.doors),
        tuple(lines.values()),
        {door: tuple(cables) for door, cables in within.items()},
    )


def _met(lines: Iterable[Line]) -> set[str]:
    return {end[0] for line in lines for end in (line.start, line.end)}


def part_of(index: Index, whole: SiteMap, doors: Collection[str]) -> SiteMap:
    """Some doors, what they are joined to, and the supplies behind that."""
    kept = {door for door in whole.doors if door in doors}
    behind = {
        owner.id
        for owner in whole.shared
        if owner.sort is not Sort.DEVICE or index.plan.devices[owner.id].part.kind in SOURCES
    }
    met = {
        end[0] for line in whole.lines if _joins(line, kept) for end in (line.start, line.end)
    } - set(whole.doors)
    used = {device for door in kept for device in index.plan.doors[door].devices.values()}
    met |= {owner.id for owner in whole.shared if owner.sort is Sort.DEVICE and owner.id in used}
    while True:
        more = {
            end[0] for line in whole.lines if _joins(line, met) for end in (line.start, line.end)
        } & behind
        if more <= met:
            break
        met |= more
    blocks = met | kept
    return SiteMap(
        tuple(owner for owner in whole.shared if owner.id in met),
        tuple(door for door in whole.doors if door in kept),
        tuple(line for line in whole.lines if line.start[0] in blocks and line.end[0] in blocks),
        whole.within,
    )


def _joins(line: Line, blocks: Collection[str]) -> bool:
    return line.start[0] in blocks or line.end[0] in blocks


def _by_cable(index: Index) -> Mapping[str, list[Conductor]]:
    cables: dict[str, list[Conductor]] = {}
    for conductor in index.wiring.conductors:
        cables.setdefault(conductor.cable, []).append(conductor)
    return cables


def _cable_lines(index: Index, cable: str, cores: Iterable[Conductor]) -> Iterable[Line]:
    """One line from end to end; of a tapped cable one for every stretch that leads somewhere.

    A door's own joint counts only where nothing else ends: it may lie between two cables beside the
    supply.
    """
    starts: Counter[Node] = Counter()
    ends: Counter[Node] = Counter()
    stretches: dict[tuple[str, str], Line] = {}
    tapped = False
    for core in cores:
        start, end = (_node(index, node) for node in (core.start, core.end))
        tapped = tapped or any(
            index.owners[node].sort is Sort.TAP for node in (core.start, core.end)
        )
        if start is not None:
            starts[start] += 1
        if end is not None:
            ends[end] += 1
        if start is not None and end is not None:
            line = Line(core.id, cable, start, end, core.length_m)
            stretches.setdefault((start[0], end[0]), line)
    if tapped:
        yield from stretches.values()
    elif starts and ends:
        length = index.plan.cables[cable].length_m
        start, end = (_most(_surely(index, found)) for found in (starts, ends))
        yield Line(cable, cable, start, end, length)


def _core_line(index: Index, core: Conductor) -> Line | None:
    """The way of one core, where it joins two blocks."""
    start, end = (_node(index, node) for node in (core.start, core.end))
    if start is None or end is None or start[0] == end[0]:
        return None
    return Line(core.id, core.cable, start, end, index.plan.cables[core.cable].length_m)


def _surely(index: Index, found: Counter[Node]) -> Counter[Node]:
    """Without a door's own joints, where something else says what place this end is at."""
    sure = {n: count for n, count in found.items() if n[1] or n[0] not in index.plan.doors}
    return Counter(sure) or found


def _most(found: Counter[Node]) -> Node:
    """The block where most cores end, and there the first pin that is no return."""
    blocks: Counter[str] = Counter()
    for (block, _), count in found.items():
        blocks[block] += count
    best = blocks.most_common(1)[0][0]
    pins = [node for node in found if node[0] == best]
    return next((node for node in pins if node[1] not in ("-", "GND")), pins[0])


def _lead_line(index: Index, lead: Lead) -> Line | None:
    """A lead between two blocks."""
    start, end = _node(index, lead.start), _node(index, lead.end)
    if start is None or end is None or start[0] == end[0]:
        return None
    if "-" in (start[1], end[1]):
        return None
    return Line(lead.id, "", start, end, None)


def _block(device: PlannedDevice) -> str:
    """The block a device belongs to: its door where it stands there, else itself."""
    return device.door if device.door and device.place in IN_DOOR else device.id


def _node(index: Index, node: str) -> Node | None:
    owner = index.owners[node]
    if owner.sort is Sort.DEVICE:
        block = _block(index.plan.devices[owner.id])
        return (block, owner.pin)
    if owner.sort is Sort.TAP:
        return (owner.id, "")
    if owner.sort is Sort.JOINT:
        door = owner.id.rpartition(".")[0]
        return (door or owner.id, "")
    return None
