"""The batteries that run flat, mains on, after their supply has died, before anybody comes."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from latchwork.behaviour.network import PlacedElement, Things
from latchwork.behaviour.situations import Event, Mode, Power, Situation
from latchwork.elements import FALSE, Fuse, Resistor, ResistorRole, Source, SourceShape
from latchwork.faults.model import Reading
from latchwork.parts import Part
from latchwork.wiring.union import Union

KEEPS_OHM = 1.0
"""Of one wire between two supplies: above it, what flows may leave the one below its battery
(common practice, no source)."""


def run_flat(things: Things, supply: str, part: Part) -> Mapping[str, float]:
    """By the device that each is of, the volts of the full batteries that a supply keeps up, and
    nothing once it is dead: its own, and one that copper joins to its plus.

    None where the supply tells of its fault, and none that another supply on the same plus keeps up
    by giving no less than it has: a meter at the screws reads that one's volts.
    """
    sources = [item for item in things.elements if isinstance(item.what, Source)]
    own = next((i for i in sources if i.device == supply and not _battery(i)), None)
    if own is None or part.facts.get("tells_of_its_fault") is True:
        return {}
    beside = _beside(things, own, sources) if len(sources) > 1 else []
    gives = [_volt(i) for i in beside if not _battery(i) and i.on != FALSE]
    batteries = [i for i in sources if i.device == supply and _battery(i)]
    batteries += [i for i in beside if _battery(i)]
    return {i.device: _volt(i) for i in batteries if max(gives, default=0.0) < _volt(i)}


def on_battery(wired: Collection[str], supply: str, part: Part, full_v: float) -> Reading | None:
    """Where a meter tells, mains on, that a supply lives on its battery: at the same screws for
    every cell of it. ``wired``: every terminal that has a core; a timed supply feeds its door from
    its relay's screws alone, and has its plus beside them."""
    outputs = [f"{supply}.{t.name}" for t in part.terminals if t.does == "output_plus"]
    if not outputs:
        return None
    screw = next((name for name in outputs if name in wired), outputs[0])
    usual = Situation(Power.MAINS, Mode.NORMAL, Event.NOBODY).key
    return Reading(usual, True, screw, f"{supply}.-", part.figures["output_v"].value, full_v)


def _battery(item: PlacedElement) -> bool:
    return isinstance(item.what, Source) and item.what.shape is SourceShape.BREAKS_DOWN


def _volt(item: PlacedElement) -> float:
    assert isinstance(item.what, Source)
    return item.what.volt.value


def _beside(
    things: Things, own: PlacedElement, sources: list[PlacedElement]
) -> list[PlacedElement]:
    """The direct-current sources of other devices whose plus copper joins to that of ``own``."""
    copper = Union()
    for wire in things.conductors:
        if wire.ohm.value <= KEEPS_OHM:
            copper.join(wire.a, wire.b)
    for item in things.elements:
        inner = isinstance(item.what, Resistor) and item.what.role is ResistorRole.INTERNAL
        if inner or isinstance(item.what, Fuse):
            copper.join(item.a, item.b)
    return [
        item
        for item in sources
        if item.device != own.device
        and isinstance(item.what, Source)
        and not item.what.alternating
        and copper.find(item.a) == copper.find(own.a)
    ]
