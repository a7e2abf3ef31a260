"""Cables: measured against length, what they are made of, how far data may go."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from latchwork.behaviour.copper import ohms_from
from latchwork.elements import GUESSES, Certainty, Source
from latchwork.findings import Finding, Severity
from latchwork.job.model import Deviation, DeviationKind, Fact, Run
from latchwork.job.names import LEGS
from latchwork.parts.cables import cable_type
from latchwork.parts.model import Part
from latchwork.plan import PlannedCable, PlannedDevice
from latchwork.plan.cables import figure
from latchwork.rules.made_for import strange
from latchwork.rules.rule import Rule
from latchwork.rules.view import View
from latchwork.wiring import Lead

BELOW, ABOVE = 0.9, 1.15
"""How far a measured resistance may be outside what type and length allow: the meter, its leads
and the heat of the day (common practice, no source)."""
READER_M = 150.0
"""Longest data cable on 18 AWG (SIA AC-01, as common practice has it; clause to be looked up)."""
READER_M2 = 0.823e-6
"""Copper area of 18 AWG (ASTM B258, from memory)."""
PORT_M = 100.0
"""Longest channel of category cable, patch leads and all (TIA-568, ISO/IEC 11801; from memory)."""
CARRIES = ("power", "lock", "release", "fire")
"""Legs whose current heats a joint and whose drop matters."""
AT_DOOR = ("door", "inside", "outside", "weather")
"""Places of a door's own devices that are at the door."""


def reader_limit_m(area_m2: float) -> float:
    """How far data may go on cores of an area: 150 m on 18 AWG, on thinner in proportion to the
    copper (common practice, no source)."""
    return READER_M * min(1.0, area_m2 / READER_M2)


def measured(view: View) -> Iterator[Finding]:
    """A loop or core that reads more or less than its type, or what is said of it per metre, and
    length give."""
    per_m = {cable.id: run.figures.get("resistance") for cable, run, _ in _runs(view)}
    for cable, run, path in _runs(view):
        for word, cores in (("loop resistance", 2), ("core resistance", 1)):
            fact = run.figures.get(word)
            if fact is not None and fact.certainty is Certainty.MEASURED:
                yield from _against(cable, cable.id, fact, cores, path, per_m[cable.id])
    for door, found in _found(view):
        if found.kind is not DeviationKind.PART or found.ohm is None:
            continue
        for subject in found.subjects:
            its = view.plan.cables.get(subject.rpartition(".")[0])
            if its is not None:
                yield from _against(
                    its, subject, found.ohm, 1, f"doors.{door}".rstrip("."), per_m.get(its.id)
                )


def _found(view: View) -> Iterator[tuple[str, Deviation]]:
    yield from (("", d) for d in view.plan.job.found)
    for door in view.plan.doors.values():
        yield from ((door.id, d) for d in door.door.found)


def _runs(view: View) -> Iterator[tuple[PlannedCable, Run, str]]:
    job = view.plan.job
    for name, run in job.cables.items():
        yield view.plan.cables[name], run, f"cables.{name}"
    for door in job.doors.values():
        sections: Mapping[str, Mapping[str, Run]] = {"runs": door.runs, "cables": door.cables}
        for section, runs in sections.items():
            for name, run in runs.items():
                yield (
                    view.plan.cables[f"{door.id}.{name}"],
                    run,
                    f"doors.{door.id}.{section}.{name}",
                )


def _against(
    cable: PlannedCable, subject: str, fact: Fact, cores: int, path: str, said: Fact | None
) -> Iterator[Finding]:
    # The planned cable has what was measured of it already.
    per_m = figure(said) if said is not None else cable_type(cable.type.name).ohm_per_m
    length = cable.length_m
    least, most = cores * per_m.low * length.low, cores * per_m.high * length.high
    if BELOW * least <= fact.value <= ABOVE * most:
        return
    expected = cores * per_m.value * length.value
    yield Finding(
        "loop-resistance",
        subject,
        Severity.WEAK,
        "",
        {
            "read_ohm": fact.value,
            "expected_ohm": expected,
            "length_m": length.value,
            "would_be_m": length.value * fact.value / expected if expected else 0.0,
            "what": "loop" if cores == 2 else "core",
        },
        "copper",
        (f"{path}.length",) if length.certainty in GUESSES else (),
    )


def copper_clad(view: View) -> Iterator[Finding]:
    """Copper-clad aluminium where current is carried."""
    carrying = {c.cable for c in view.site.wiring.conductors if c.leg in CARRIES or not c.leg}
    for cable in view.plan.cables.values():
        if cable.type.material != "copper" and cable.id in carrying:
            yield Finding(
                "copper-clad",
                cable.id,
                Severity.WEAK,
                "",
                {"loop_ohm": 2 * cable.core_ohm.value},
                "clad",
            )


def reader_cable(view: View) -> Iterator[Finding]:
    """A reader's cable longer than its data carries."""
    ends = {f"{d.id}." for d in view.plan.devices.values() if d.part.kind == "reader"}
    with_data = {
        c.cable
        for c in view.site.wiring.conductors
        for node in (c.start, c.end)
        if node.rpartition(".")[2] in ("D0", "D1") and f"{node.rpartition('.')[0]}." in ends
    }
    for name in sorted(with_data):
        cable = view.plan.cables[name]
        limit = reader_limit_m(cable.type.area_m2)
        if cable.length_m.value > limit:
            yield Finding(
                "reader-cable",
                name,
                Severity.WEAK,
                "",
                {"length_m": cable.length_m.value, "limit_m": limit},
                "data-length",
                _guessed_length(view, cable),
            )


def network_cable(view: View) -> Iterator[Finding]:
    """A network port's cable longer than a channel may be, whatever volts still arrive."""
    ports = {d.id for d in view.plan.devices.values() if d.part.kind == "poe port"}
    fed = {
        core.cable
        for core in view.site.wiring.conductors
        for node in (core.start, core.end)
        if node.rpartition(".")[0] in ports
    }
    for name in sorted(fed):
        cable = view.plan.cables[name]
        if cable.length_m.value > PORT_M:
            figures: dict[str, float | str] = {"length_m": cable.length_m.value, "limit_m": PORT_M}
            guess = _guessed_length(view, cable)
            yield Finding("network-cable", name, Severity.WEAK, "", figures, "channel", guess)


def _guessed_length(view: View, cable: PlannedCable) -> tuple[str, ...]:
    """Where a cable's length is written, if that is a guess."""
    guess = cable.length_m.certainty in GUESSES
    return (view.plan.provenance[f"{cable.id}.length_m"].path,) if guess else ()


def run_unsaid(view: View) -> Iterator[Finding]:
    """A leg that leaves the door without a cable: it counts as nothing, and nobody orders it."""
    leads: dict[str, list[Lead]] = {}
    for lead in view.site.wiring.leads:
        leads.setdefault(lead.door, []).append(lead)
    for door in view.plan.doors.values():
        own = door.door.wiring
        if isinstance(own, tuple) or door.door.cables:
            continue
        far = [lead for lead in leads.get(door.id, ()) if _leaves(view, lead)]
        legs = {lead.leg for lead in far if lead.leg not in door.door.runs}
        named = [leg for leg in LEGS if leg in legs and leg not in (own or ())]
        # A leg has one run; what lies beyond it is named by its two ends.
        named += dict.fromkeys(_between(view, lead) for lead in far if lead.leg in door.door.runs)
        if named:
            figures: dict[str, float | str] = {"legs": ", ".join(named)}
            yield Finding("run-unsaid", door.id, Severity.NOTE, "", figures, "model")


def _between(view: View, lead: Lead) -> str:
    ends = (view.plan.devices[end.rpartition(".")[0]] for end in (lead.start, lead.end))
    return " to ".join(device.slot if device.door else device.id for device in ends)


def _leaves(view: View, lead: Lead) -> bool:
    """Whether a lead joins what stands at the door with what does not, or two other places."""
    devices = (view.plan.devices.get(end.rpartition(".")[0]) for end in (lead.start, lead.end))
    places = {_stands(view, device) for device in devices if device is not None}
    return len(places) > 1


def _stands(view: View, device: PlannedDevice) -> str:
    """Where a device stands; "" at its door. What doors share stands elsewhere, whatever is
    around it there. "supply" is beside its door's supply or the only one, wherever that stands."""
    if device.place == "door" or (device.door and device.place in AT_DOOR):
        return ""
    place, supplies = device.place, view.plan.supplies
    if place == "supply":
        own = view.plan.doors[device.door].door.supply.partition(".")[0] if device.door else ""
        own = own or (next(iter(supplies)) if len(supplies) == 1 else "")
        place = supplies[own].device.place if own else place
    return "supply" if place in AT_DOOR else place


def bell_low(view: View) -> Iterator[Finding]:
    """A bell that would not be heard on mains: Ohm's law over the least way there and back.

    Counted are the source at its least, cores and contacts at their most, the bell at its most
    current; not what else the same cores carry meanwhile.
    """
    for door in view.plan.doors.values():
        bell, group = view.device(door, "bell"), view.site.group_of(door.id)
        needs = bell.part.figures.get("dies_v") if bell is not None else None
        if bell is None or group is None or needs is None or bell.id in strange(view):
            continue
        nodes = [view.node(f"{bell.id}.{screw}") for screw in ("+", "-")]
        ways = [ohms_from(group.things, node) for node in nodes]
        heard = [
            (_at_bell(bell.part, item.what, loop), loop)
            for item in group.things.elements
            if isinstance(item.what, Source)
            for near, far in ((item.a, item.b), (item.b, item.a))
            if near in ways[0] and far in ways[1]
            for loop in (ways[0][near] + ways[1][far],)
        ]
        if not heard:
            continue
        volts, loop = max(heard)
        if volts < needs.high:
            run = view.plan.cables.get(f"{door.id}.bell")
            yield Finding(
                "bell-low",
                bell.id,
                Severity.WEAK,
                "",
                {"volts_v": volts, "needs_v": needs.high, "loop_ohm": loop},
                "ohm",
                _guessed_length(view, run) if run is not None else (),
            )


def _at_bell(part: Part, source: Source, loop: float) -> float:
    """Volts at the bell behind a loop: a bell is a resistance, a sounder takes its current."""
    ohm, amps = loop + source.ohm.high, part.figures["current_a"].high
    coil = part.figures.get("resistance_ohm")
    if coil is not None:
        return source.volt.low * coil.low / (coil.low + ohm)
    return max(0.0, source.volt.low - amps * ohm)


RULES: tuple[Rule, ...] = (
    Rule(("run-unsaid",), "model", run_unsaid),
    Rule(("loop-resistance",), "copper", measured),
    Rule(("copper-clad",), "clad", copper_clad),
    Rule(("reader-cable",), "data-length", reader_cable),
    Rule(("network-cable",), "channel", network_cable),
    Rule(("bell-low",), "ohm", bell_low),
)
