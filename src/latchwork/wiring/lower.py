"""From strands to conductors: taps, shorts and breaks cut cores into stretches, ends get nodes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from latchwork.elements import Figure
from latchwork.plan.model import PlannedCable
from latchwork.wiring.deviate import Cut, Overlay, cable_end, figure
from latchwork.wiring.model import Conductor, Lead
from latchwork.wiring.names import EARTH, Names
from latchwork.wiring.sketch import OPEN
from latchwork.wiring.strands import Layout, Strand


def taps(names: Names, layout: Layout) -> dict[str, list[Cut]]:
    """Where taps meet the cores of their cables, by core."""
    cuts: dict[str, list[Cut]] = {}
    job = names.plan.job
    for name, tap in job.taps.items():
        cable = names.plan.cables[tap.on]
        path = f"taps.{name}"
        if tap.at_m.value > cable.length_m.high:
            names.complain(
                path,
                f"{tap.at_m.value:g} m along {cable.id}",
                f"a place on its {cable.length_m.value:g} m",
                "cable.beyond",
            )
        at_m = tap.at_m.value
        if cable_end(names, layout, cable.id, tap.from_end, path):
            at_m = max(cable.length_m.value - at_m, 0.0)
        for core in cable.type.cores:
            cuts.setdefault(f"{cable.id}.{core.name}", []).append(Cut(at_m, f"{name}.{core.name}"))
    return cuts


def lower(
    names: Names, over: Overlay, tapped: Mapping[str, list[Cut]]
) -> tuple[tuple[Conductor, ...], tuple[Lead, ...]]:
    """Every stretch of core, and every lead, with its nodes."""
    joints = _Joints(names, over)
    conductors: list[Conductor] = []
    leads: list[Lead] = []
    whole: dict[str, Figure] = {}
    for strand in over.strands:
        ends = [joints.node(end, strand) for end in strand.at]
        if not strand.core:
            name = f"{ends[0]} to {ends[1]}"
            leads.append(Lead(name, ends[0], ends[1], strand.leg, strand.door))
            continue
        core = strand.core
        for end in (0, 1):
            if ends[end] == OPEN:
                ends[end] = f"{core}@{end + 1}"
        cable_id, _, name = core.rpartition(".")
        cable = names.plan.cables[cable_id]
        ohm = over.ohm.get(core) or whole.get(cable_id)
        if ohm is None:
            ohm = whole[cable_id] = cable.core_ohm
        cuts = (*tapped.get(core, ()), *over.cuts.get(core, ()))
        conductors += _stretches(strand, cable, name, ohm, ends, cuts)
    leads += _added(over, joints)
    return tuple(conductors), (*leads, *joints.resistances, *_earthed(names))


def absent(names: Names, over: Overlay, tapped: Mapping[str, list[Cut]]) -> tuple[Conductor, ...]:
    """The cores that are not there, where they should be, from tap to tap."""
    found: list[Conductor] = []
    for strand in over.gone:
        cable_id, _, name = strand.core.rpartition(".")
        cable = names.plan.cables[cable_id]
        ends = [f"{strand.core}@{n}" if at == OPEN else at for n, at in enumerate(strand.at, 1)]
        if strand.core not in over.by_core:
            cuts = tapped.get(strand.core, ())
            found += _stretches(strand, cable, name, cable.core_ohm, ends, cuts)
    return tuple(found)


def _stretches(
    strand: Strand,
    cable: PlannedCable,
    core: str,
    ohm: Figure,
    ends: list[str],
    cuts: Iterable[Cut],
) -> Iterable[Conductor]:
    length = cable.length_m
    ordered = sorted(cuts, key=lambda cut: cut.at_m)
    start, at_m = ends[0], 0.0
    for number, cut in enumerate((*ordered, None)):
        suffix = f"#{number + 1}" if number else ""
        if cut is None:
            piece = _piece(length, at_m, None) if at_m else length
            end = ends[1]
        else:
            piece = _piece(length, at_m, min(cut.at_m, length.value))
            end = f"{cut.node}a" if cut.apart else cut.node
        yield Conductor(
            strand.core + suffix,
            cable.id,
            core,
            start,
            end,
            piece,
            ohm if piece is length else _share(ohm, piece, length),
            strand.leg,
            strand.door,
        )
        if cut is not None:
            start = f"{cut.node}b" if cut.apart else cut.node
            at_m = min(cut.at_m, length.value)


def _piece(length: Figure, from_m: float, to_m: float | None) -> Figure:
    """Metres between two places; the last piece bears what is not known of the length."""
    if to_m is not None:
        metres = to_m - from_m
        return Figure(metres, metres, metres, length.source, length.certainty)
    return Figure(
        length.value - from_m,
        max(length.low - from_m, 0.0),
        length.high - from_m,
        length.source,
        length.certainty,
    )


def _share(ohm: Figure, piece: Figure, length: Figure) -> Figure:
    """The resistance of a piece of a core."""
    share = (piece.value / length.value) if length.value else 0.0
    low = (piece.low / length.low) if length.low else 0.0
    high = (piece.high / length.high) if length.high else 0.0
    least, middle, most = sorted((ohm.low * low, ohm.value * share, ohm.high * high))
    return Figure(middle, least, most, ohm.source, ohm.certainty, ohm.condition)


def _added(over: Overlay, joints: _Joints) -> Iterable[Lead]:
    for lead in over.leads:
        strand = Strand(-1, lead.door, lead.leg, "", [lead.start, lead.end])
        start, end = (joints.node(node, strand) for node in strand.at)
        yield Lead(lead.id, start, end, lead.leg, lead.door, lead.ohm)


def _earthed(names: Names) -> Iterable[Lead]:
    """The minus of supplies that is tied to earth, which leaks may lead to."""
    for name, supply in names.plan.supplies.items():
        if supply.device.part.facts.get("minus_earthed") is True:
            yield Lead(f"{name}.earthed", f"{name}.-", EARTH, "", "")


class _Joints:
    """Joints with a resistance: the first row made in one is on one side, the others beyond."""

    def __init__(self, names: Names, over: Overlay) -> None:
        self._first: dict[str, int] = {}
        job = names.plan.job
        made = dict(job.joints)
        for door in job.doors.values():
            made.update({f"{door.id}.{name}": joint for name, joint in door.joints.items()})
        ohm = {name: figure(joint.ohm) for name, joint in made.items() if joint.ohm}
        ohm.update({name: value for name, value in over.ohm.items() if name in made})
        self._ohm = ohm
        self.resistances = [
            Lead(name, name, f"{name}~", "", name.rpartition(".")[0], value)
            for name, value in ohm.items()
        ]

    def node(self, end: str, strand: Strand) -> str:
        """The side of a joint that a strand's end is on; any other node as it is."""
        if end not in self._ohm:
            return end
        return end if self._first.setdefault(end, strand.row) == strand.row else f"{end}~"
