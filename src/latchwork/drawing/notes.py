"""What stands in a block beside its terminals: its name, its part, and lines that explain it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from latchwork.drawing.chain import LOCKS, ways
from latchwork.drawing.index import Index, Owner, Sort
from latchwork.drawing.sheet import Role
from latchwork.drawing.subject import SOURCES, Subject, Thing, said_place
from latchwork.drawing.tags import length
from latchwork.drawing.text import SIZES, clean, fit, width
from latchwork.drawing.texts import known, say
from latchwork.parts import moved_at_rest
from latchwork.plan import PlannedDevice
from latchwork.quantities import System, show
from latchwork.wiring import PartState

MOST_LINES = 7


@dataclass(frozen=True, slots=True)
class Head:
    """A block's name, the id of what the site shares, and the lines below.

    ``short``: how wires elsewhere call it.
    """

    title: str
    ident: str
    notes: tuple[str, ...]
    short: str
    missing: bool = False


def head(index: Index, subject: Subject, thing: Thing, room: float) -> Head:
    """The texts of a thing; notes are broken into lines of ``room`` units."""
    owner = thing.owner
    if owner.sort is Sort.DEVICE:
        return _device(index, subject, thing, room)
    if owner.sort is Sort.TAP:
        notes = [*tapped(index, owner), *_others(thing)]
        return Head(say("thing.tap"), owner.id, broken(notes, room), owner.id)
    name = _local(owner.id, subject.door)
    if owner.sort is Sort.JOINT:
        lines = broken([said_place(index, owner), *_others(thing)], room)
        return Head(say("thing.joint"), name, lines, name)
    if owner.sort is Sort.OPEN:
        cable = _local(owner.id[:-2], subject.door)
        if thing.beside:
            device = index.plan.devices.get(thing.beside)
            beside = device_title(device).lower() if device else _local(thing.beside, subject.door)
            cable = say("thing.open at", cable=cable, thing=beside)
        return Head(say("thing.open"), "", broken([cable], room), say("thing.open").lower())
    if owner.sort is Sort.CUT:
        return Head(say("thing.cut", cable=name), "", (), name)
    return Head(say("thing.earth"), "", (), say("thing.earth").lower())


def tapped(index: Index, owner: Owner) -> tuple[str, str]:
    """How far along its cable a tap is, and where that is."""
    tap = index.plan.job.taps[owner.id]
    at = length(tap.at_m, System(index.plan.job.site.units))
    return say("thing.tapped", at=at, cable=tap.on), said_place(index, owner)


def _others(thing: Thing) -> tuple[str, ...]:
    """Who takes a lid off is to know that more is wired there than the drawing has."""
    return (say("note.others"),) if thing.others else ()


def _local(name: str, door: str) -> str:
    return name.removeprefix(f"{door}.")


def _device(index: Index, subject: Subject, thing: Thing, room: float) -> Head:
    device = index.plan.devices[thing.owner.id]
    part = device.part
    title = device_title(device)
    notes = [part.name] if part.name.lower() != title.lower() else []
    missing = False
    for state in index.wiring.states:
        if state.device == device.id:
            missing = missing or state.state == "missing"
            notes.append(state_words(state))
    if moved_at_rest(part):
        notes.append(say("note.held"))
    if part.kind in LOCKS:
        notes += _switched(index, subject, device.id)
    notes += _others(thing)
    short = device.slot if device.door else device.id
    ident = "" if device.door else device.id
    return Head(title, ident, broken(notes, room), short, missing)


def device_title(device: PlannedDevice) -> str:
    """What the device is for its door, in the trade's words."""
    if device.part.kind in SOURCES:
        return say("thing.supply")
    code = f"slot.{device.slot}"
    if known(code):
        return say(code)
    word = device.slot or device.part.kind
    return word[:1].upper() + word[1:]


def state_words(found: PartState) -> str:
    """What a part was found to be."""
    if found.state == "missing":
        return say("note.missing")
    words = found.state
    if found.when:
        words = say("note.state when", state=words, when=found.when)
    if found.ohm is None:
        return say("note.state", state=words)
    return say("note.state measured", state=words, resistance=show(found.ohm.value, "Ω"))


def _switched(index: Index, subject: Subject, lock: str) -> Iterable[str]:
    """The contacts on the lock's way to its supply and back, one line for each way."""
    for code, passed in ways(index, subject, lock):
        names = []
        for device, contact in dict.fromkeys(passed):
            planned = index.plan.devices[device]
            short = planned.slot if planned.door else device
            names.append(say("note.contact", device=short, contact=contact))
        yield say(f"note.{code}", chain=", ".join(names))


def broken(notes: Iterable[str], room: float, most: int = MOST_LINES) -> tuple[str, ...]:
    """Notes broken at spaces into lines, ``most`` of them; a word too long for one is shortened."""
    size = SIZES[Role.NOTE]
    lines: list[str] = []
    for note in notes:
        line = ""
        for word in clean(note).split():
            longer = f"{line} {word}".lstrip()
            if line and width(longer, size) > room:
                lines.append(line)
                line = word
            else:
                line = longer
        if line:
            lines.append(line)
    if len(lines) > most:
        lines = [*lines[: most - 1], f"{lines[most - 1]} …"]
    return tuple(fit(line, size, room) for line in lines)


def thing_key(owner: Owner) -> str:
    """The id of the block a thing becomes."""
    return owner.id if owner.sort is not Sort.CUT else f"{owner.id}~"
