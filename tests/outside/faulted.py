"""Single faults laid over the wiring itself: a second way from what a fault is said to be.

Only a fault's kind, subjects, state and resistance are read, never the numbers that the fault run
changes.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from latchwork.behaviour.place import NOTHING_OHM
from latchwork.elements import Figure, exactly
from latchwork.faults import Fault, FaultKind
from latchwork.wiring import Bridge, PartState, Wiring


def apart(wiring: Wiring, doors: Collection[str], supplies: Collection[str]) -> Wiring:
    """What some doors and supplies are wired with; every lead a wire of its own."""
    others = (wiring.plan.doors.keys() | wiring.plan.supplies.keys()) - {*doors, *supplies}

    def near(*names: str) -> bool:
        return not any(name.partition(".")[0] in others for name in names)

    devices = {name: d for name, d in wiring.plan.devices.items() if near(name)}
    return replace(
        wiring,
        plan=replace(wiring.plan, devices=devices),
        conductors=tuple(c for c in wiring.conductors if near(c.start, c.end)),
        leads=tuple(
            replace(lead, ohm=lead.ohm or NOTHING_OHM)
            for lead in wiring.leads
            if near(lead.start, lead.end)
        ),
        bridges=tuple(b for b in wiring.bridges if near(b.a, b.b)),
        states=tuple(s for s in wiring.states if near(s.device)),
    )


def faulted(wiring: Wiring, fault: Fault) -> Wiring:
    """``wiring``, its leads apart, with one fault. A short between cores lies at their ends away
    from the supply."""
    ends = {c.id: c.end for c in wiring.conductors}
    one = fault.subjects[0]
    match fault.kind:
        case FaultKind.OPEN:
            return replace(
                wiring,
                conductors=tuple(c for c in wiring.conductors if c.id != one),
                leads=tuple(lead for lead in wiring.leads if lead.id != one),
                bridges=tuple(b for b in wiring.bridges if b.id != one),
            )
        case FaultKind.JOINT:
            assert fault.ohm is not None
            return _worse(wiring, one, fault.ohm)
        case FaultKind.SHORT:
            a, b = (ends.get(name, name) for name in fault.subjects)
            return _joined(wiring, a, b, fault)
        case FaultKind.TO_PLUS | FaultKind.TO_MINUS | FaultKind.TO_EARTH:
            return _joined(wiring, ends[one], _pole(wiring, one, fault.kind), fault)
        case FaultKind.STATE:
            return replace(wiring, states=(*wiring.states, PartState(one, fault.state)))
        case FaultKind.SITE:
            return wiring  # the flags that are given say so


def _worse(wiring: Wiring, name: str, ohm: float) -> Wiring:
    def more(figure: Figure | None) -> Figure:
        assert figure is not None
        return exactly(figure.value + ohm)

    return replace(
        wiring,
        conductors=tuple(
            replace(c, ohm=more(c.ohm)) if c.id == name else c for c in wiring.conductors
        ),
        leads=tuple(replace(x, ohm=more(x.ohm)) if x.id == name else x for x in wiring.leads),
        bridges=tuple(replace(b, ohm=more(b.ohm)) if b.id == name else b for b in wiring.bridges),
    )


def _joined(wiring: Wiring, a: str, b: str, fault: Fault) -> Wiring:
    assert fault.ohm is not None
    bridge = Bridge(fault.id, a, b, exactly(fault.ohm), "")
    return replace(wiring, bridges=(*wiring.bridges, bridge))


def _pole(wiring: Wiring, core: str, kind: FaultKind) -> str:
    """What a core touches: the output that feeds its door, that supply's minus, or earth."""
    fed = wiring.plan.doors[core.partition(".")[0]].door.supply
    match kind:
        case FaultKind.TO_PLUS:
            return fed
        case FaultKind.TO_MINUS:
            return f"{fed.partition('.')[0]}.-"
        case _:
            return "earth"
