"""Deviations laid over planned rows: what was moved, swapped, left out, added; what is broken.

Those that concern whole cores change strands here. Those at a place along a cable become cuts,
which ``lower`` makes into stretches of core.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise

from latchwork.elements import Figure
from latchwork.job.model import Deviation, DeviationKind, Fact
from latchwork.job.problems import one_of
from latchwork.parts import Part, StateNotFound, states_of, with_state
from latchwork.wiring.model import Bridge, Lead, PartState
from latchwork.wiring.names import Names
from latchwork.wiring.sketch import OPEN
from latchwork.wiring.strands import Layout, Strand

SHORT_OHM = Figure(0.01, 0.01, 0.01)
"""Two bare cores pressed together. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Cut:
    """A place along a core, from its cable's first end. ``apart``: the core is broken there."""

    at_m: float
    node: str
    apart: bool = False


@dataclass(slots=True)
class Overlay:
    """What deviations leave behind, beside changed strands."""

    strands: list[Strand]
    by_core: dict[str, Strand]
    cuts: dict[str, list[Cut]] = field(default_factory=dict)
    bridges: list[Bridge] = field(default_factory=list)
    leads: list[Lead] = field(default_factory=list)
    states: list[PartState] = field(default_factory=list)
    gone: list[Strand] = field(default_factory=list)
    """Cores that the plan has and the site has not."""
    ohm: dict[str, Figure] = field(default_factory=dict)
    """Measured resistance of a core or joint, by its id."""


def figure(fact: Fact) -> Figure:
    """A fact of the file as a figure."""
    return Figure(fact.value, fact.low, fact.high, "job", fact.certainty)


def deviate(
    names: Names,
    layout: Layout,
    strands: list[Strand],
    found: Iterable[tuple[str, int, Deviation]],
) -> Overlay:
    """Lay every deviation (of a door or "" for the site, with its number) over the strands."""
    over = Overlay(strands, {strand.core: strand for strand in strands if strand.core})
    cutter = _Cutter(names, layout, over)
    for door, number, deviation in found:
        apply = _KINDS[deviation.kind]
        apply(
            _Site(names, layout, over, cutter, door, f"{door}.found{number}".lstrip(".")), deviation
        )
    return over


class _Cutter:
    """Turns a subject into a node: a screw, or a place along a core."""

    def __init__(self, names: Names, layout: Layout, over: Overlay) -> None:
        self._names, self._layout, self._over = names, layout, over

    def at(self, core: str, deviation: Deviation, *, apart: bool) -> str:
        """Cut ``core`` where the deviation is; the node made there."""
        cable = self._names.plan.cables[core.rpartition(".")[0]]
        at_m = self._metres(cable.id, cable.length_m, deviation)
        cuts = self._over.cuts.setdefault(core, [])
        node = f"{core}~{len(cuts) + 1}"
        cuts.append(Cut(at_m, node, apart))
        return node

    def _metres(self, cable: str, length: Figure, deviation: Deviation) -> float:
        if deviation.at_m is None:
            return length.value / 2
        at_m = deviation.at_m.value
        if at_m > length.high:
            self._names.complain(
                deviation.path,
                f"{at_m:g} m along {cable}",
                f"a place on its {length.value:g} m",
                "cable.beyond",
            )
        end = cable_end(self._names, self._layout, cable, deviation.from_end, deviation.path)
        return at_m if end == 0 else max(length.value - at_m, 0.0)


def cable_end(names: Names, layout: Layout, cable: str, written: str, path: str) -> int:
    """Which end of the cable (0 or 1) the device, joint or tap named stands at; "": the first."""
    if not written:
        return 0
    end = layout.stands_at(cable, names.device(written) or written)
    if end is None:
        names.complain(path, f"from {written}", f"what {cable} starts or ends at", "cable.end")
    return end or 0


@dataclass(frozen=True, slots=True)
class _Site:
    """One deviation's surroundings."""

    names: Names
    layout: Layout
    over: Overlay
    cutter: _Cutter
    door: str
    id: str

    def strand_of(self, core: str) -> Strand:
        """The strand of a core; a spare core gets one, open at both ends."""
        found = self.over.by_core.get(core)
        if found is None:
            found = self.over.by_core[core] = Strand(-1, self.door, "", core, [OPEN, OPEN])
            self.over.strands.append(found)
        return found

    def end_of(self, core: str, deviation: Deviation) -> int:
        """Which end of its cable (0 or 1) a core is at where the deviation is; the second where
        that is not said."""
        if not deviation.from_end:
            return 1
        cable = core.rpartition(".")[0]
        return cable_end(self.names, self.layout, cable, deviation.from_end, deviation.path)

    def turned(self, cable: str, start: str, end: str) -> bool:
        """Whether what is written from ``start`` to ``end`` runs from the cable's second end to its
        first, as far as what stands at them tells."""
        at = [self.layout.stands_at(cable, self.layout.owner(node)) for node in (start, end)]
        return at in ([1, 0], [1, None], [None, 0])

    def cores(self, deviation: Deviation) -> list[str]:
        """The cores a deviation is about; noted where it is about something else."""
        found = []
        for written in deviation.subjects:
            cores = self.names.cores(written, deviation.path)
            if not cores:
                self.names.complain(deviation.path, written, "a core, exit brown", "core.missing")
            found += cores
        return found


def _moved(site: _Site, deviation: Deviation) -> None:
    source = site.names.node(deviation.start, deviation.path)
    target = site.names.node(deviation.end, deviation.path)
    for core in site.cores(deviation):
        strand = site.strand_of(core)
        if source not in strand.at:
            ends = " and ".join(strand.at)
            expected = f"an end of {core}, which is on {ends}"
            site.names.complain(deviation.path, source, expected, "found.not-there")
            continue
        # A spare core is open at both ends; the far one is as good as the near one.
        strand.at[1 if strand.at[1] == source else 0] = target
        strand.changed = True


def _swapped(site: _Site, deviation: Deviation) -> None:
    """Two cores at one end (the second where the file does not say), or all that two screws hold.

    Which end makes no difference to where two cores of one cable lead, but where it has taps.
    """
    cores = [core for w in deviation.subjects for core in site.names.cores(w, deviation.path)]
    if len(cores) == 2:
        a, b = (site.strand_of(core) for core in cores)
        at, bt = (site.end_of(core, deviation) for core in cores)
        if not deviation.from_end:
            _say_which_end(site, cores, deviation)
        a.at[at], b.at[bt] = b.at[bt], a.at[at]
        a.changed = b.changed = True
        return
    first, second = (site.names.node(w, deviation.path) for w in deviation.subjects)
    other = {first: second, second: first}
    for strand in site.over.strands:
        ends = [other.get(end, end) for end in strand.at]
        strand.changed = strand.changed or ends != strand.at
        strand.at = ends
    # Leads that were added before are on the screws too.
    site.over.leads[:] = [
        replace(lead, start=other.get(lead.start, lead.start), end=other.get(lead.end, lead.end))
        for lead in site.over.leads
    ]


def _say_which_end(site: _Site, cores: list[str], deviation: Deviation) -> None:
    """Note swapped cores that lead elsewhere by the end at which they are."""
    cables = {core.rpartition(".")[0] for core in cores}
    tapped = any(tap.on in cables for tap in site.names.plan.job.taps.values())
    if len(cables) == 2 or tapped:
        expected = "the end at which they are: at: from controller"
        site.names.complain(deviation.path, " and ".join(cores), expected, "found.end")


def _missing(site: _Site, deviation: Deviation) -> None:
    for written in deviation.subjects:
        device = site.names.device(written)
        if device is not None:
            site.over.states.append(PartState(device, "missing", when=deviation.when))
        else:
            gone = [site.strand_of(core) for core in site.cores(deviation)]
            _take(site.over, gone)
            # A spare core is planned to lead nowhere.
            site.over.gone += (strand for strand in gone if strand.row >= 0)


def _take(over: Overlay, gone: list[Strand]) -> None:
    ids = {id(strand) for strand in gone}
    over.strands[:] = [s for s in over.strands if id(s) not in ids]
    for strand in gone:
        over.by_core.pop(strand.core, None)


def _added(site: _Site, deviation: Deviation) -> None:
    """A lead between two screws, or a spare core put to use."""
    start = site.names.node(deviation.start, deviation.path)
    end = site.names.node(deviation.end, deviation.path)
    if not deviation.subjects and OPEN in (start, end):
        site.names.complain(deviation.path, OPEN, "a screw at both ends of a lead", "found.open")
    elif not deviation.subjects:
        ohm = figure(deviation.ohm) if deviation.ohm else None
        site.over.leads.append(Lead(site.id, start, end, "", site.door, ohm))
    for core in site.cores(deviation):
        strand = site.strand_of(core)
        strand.turned = site.turned(core.rpartition(".")[0], start, end)
        strand.at, strand.changed = [end, start] if strand.turned else [start, end], True


def _part(site: _Site, deviation: Deviation) -> None:
    """A part in a state that its data sheet does not promise, or a joint or core as measured."""
    ohm = figure(deviation.ohm) if deviation.ohm else None
    for written in deviation.subjects:
        device = site.names.device(written)
        if device is not None:
            _state(site, deviation, device, ohm)
        elif ohm is not None:
            joint = written in site.names.joints
            for name in [written] if joint else site.cores(deviation):
                site.over.ohm[name] = ohm
        else:
            site.names.complain(deviation.path, written, "its resistance", "found.part")


def _state(site: _Site, deviation: Deviation, device: str, ohm: Figure | None) -> None:
    part = site.names.plan.devices[device].part
    known = [state.name for state in states_of(part)]
    state = next((n for n in known if n.casefold() == deviation.state.casefold()), None)
    if state is None:
        # A device's own resistance is a figure of it and stands where it is named.
        said = deviation.state or "no state"
        site.names.complain(deviation.path, said, one_of(said, known), "found.state")
        return
    found = PartState(device, state, ohm, deviation.when)
    for other in (s for s in site.over.states if s.device == device):
        if (other.state, other.ohm) == (state, ohm):
            return
        if not _together(part, other, found):
            expected = f"what goes with {other.state}, found of it too"
            site.names.complain(deviation.path, state, expected, "found.state")
            return
    site.over.states.append(found)


def _together(part: Part, one: PartState, other: PartState) -> bool:
    """Whether a part may be in both states, whichever is written first."""
    about = {state.name: state.about for state in states_of(part)}
    if about[one.state] == about[other.state] and one.when == other.when:
        return False
    try:
        either = [
            with_state(with_state(part, a.state, a.ohm), b.state, b.ohm)
            for a, b in ((one, other), (other, one))
        ]
    except StateNotFound:
        return False
    return either[0] == either[1]


def _bridged(site: _Site, deviation: Deviation) -> None:
    """A short or leak: between cores at a place along them, between screws, or to earth. Of a leak
    the resistance is always written."""
    ohm = figure(deviation.ohm) if deviation.ohm else SHORT_OHM
    nodes = []
    for written in deviation.subjects:
        cores = site.names.cores(written, deviation.path)
        for core in cores:
            site.strand_of(core)
            nodes.append(site.cutter.at(core, deviation, apart=False))
        if not cores:
            nodes.append(site.names.node(written, deviation.path))
    for number, (a, b) in enumerate(pairwise(nodes)):
        name = site.id if not number else f"{site.id}-{number + 1}"
        site.over.bridges.append(Bridge(name, a, b, ohm, site.door))


def _broken(site: _Site, deviation: Deviation) -> None:
    for core in site.cores(deviation):
        site.strand_of(core)
        site.cutter.at(core, deviation, apart=True)


_KINDS: Mapping[DeviationKind, Callable[[_Site, Deviation], None]] = {
    DeviationKind.MOVED: _moved,
    DeviationKind.SWAPPED: _swapped,
    DeviationKind.MISSING: _missing,
    DeviationKind.ADDED: _added,
    DeviationKind.PART: _part,
    DeviationKind.SHORT: _bridged,
    DeviationKind.LEAK: _bridged,
    DeviationKind.BREAK: _broken,
}
