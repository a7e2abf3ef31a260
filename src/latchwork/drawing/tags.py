"""What is written at the two ends of a wire, and how a wire is put into words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from latchwork.drawing.colours import core_colour
from latchwork.drawing.index import Index, Joining, added, ends
from latchwork.drawing.sheet import Form, WireKind
from latchwork.drawing.texts import say
from latchwork.elements import GUESSES, Figure
from latchwork.job import Fact
from latchwork.quantities import System, show, show_whole
from latchwork.wiring import Bridge, Conductor

MINUS = "\N{MINUS SIGN}"
LEAK_OHM = 1.0
"""A bridge of more is called a leak, else a short. Common practice, no source."""


Texts = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Tagged:
    """A wire with its texts: for either end, the longest first, one that is shorter last."""

    id: str
    kind: WireKind
    start: str
    end: str
    cable: str
    core: str
    letters: str
    colours: tuple[str, ...]
    texts: tuple[Texts, Texts]
    means: str
    planned: bool
    absent: bool = False
    """Planned, and not there."""


@dataclass(frozen=True, slots=True)
class Wording:
    """What naming wires needs of a sheet."""

    door: str
    form: Form
    system: System
    short: Mapping[str, str]
    """node -> how the block it stands on is called for short."""
    pin: Mapping[str, str]
    """node -> the name of its terminal."""
    owner: Mapping[str, str]
    """node -> the block it stands on."""
    changed: frozenset[str]
    """Ids of cores that differ from the plan."""


def length(metres: Figure | Fact, system: System) -> str:
    """A length as people write it: whole where it is whole, "~" before one that is guessed."""
    text = show_whole(metres.value, "m", system)
    guessed = say("tag.guessed") if metres.certainty in GUESSES else ""
    return guessed + text


def tag(index: Index, wire: Joining, wording: Wording) -> Tagged:
    """Name a wire at both its ends."""
    start, end = ends(wire)
    if isinstance(wire, Conductor):
        return _core(index, wire, wording)
    if isinstance(wire, Bridge):
        ohm = show(wire.ohm.value, "Ω", wording.system)
        code = "tag.leak" if wire.ohm.value > LEAK_OHM else "tag.short"
        text = say(code, resistance=ohm)
        means = say("about.bridge", resistance=ohm, start=start, end=end)
        return Tagged(
            wire.id, WireKind.BRIDGE, start, end, "", "", "", (), ((text,), (text,)), means, False
        )
    planned = not added(wire)
    texts = (_to(start, end, wording), _to(end, start, wording))
    if wire.ohm is not None:
        texts = ((show(wire.ohm.value, "Ω", wording.system),),) * 2
    means = say("about.lead", start=start, end=end)
    return Tagged(wire.id, WireKind.LEAD, start, end, "", "", "", (), texts, means, planned)


def _to(near: str, far: str, wording: Wording) -> Texts:
    """Where a lead goes: the terminal alone where it stays on the same device."""
    pin, owner = wording.pin[far].replace("-", MINUS), wording.short[far]
    if wording.owner[near] == wording.owner[far]:
        return (say("tag.lead", end=pin),)
    joint = pin in (say("pin.joint"), say("pin.beyond"))
    end = owner if joint else f"{owner} {pin}"
    return say("tag.lead", end=end), end


def _core(index: Index, wire: Conductor, wording: Wording) -> Tagged:
    planned = index.plan.cables[wire.cable]
    words = next((c.colour for c in planned.type.cores if c.name == wire.core), wire.core)
    colour = core_colour(words)
    cable = wire.cable.removeprefix(f"{wording.door}.")
    metres = length(wire.length_m, wording.system)
    named: Texts = (say("tag.core", core=wire.core, cable=cable),)
    # Where the letters say what the core's name says, the cable alone will do.
    if colour.letters and wire.core == words:
        named = (cable,) if wording.form is Form.NARROW else (*named, cable)
    means = say(
        "about.core",
        cable=wire.cable,
        core=wire.core,
        start=wire.start,
        end=wire.end,
        length=metres,
    )
    measured: Texts = (say("tag.length", cable=cable, length=metres), cable)
    if index.is_absent(wire):
        # The word stays where the rest is shortened: a line that is dashed could mean anything.
        named = (*(say("tag.absent", text=text) for text in named), say("note.missing"))
        measured = named
        means = say("about.absent", means=means)
    return Tagged(
        wire.id,
        WireKind.CORE,
        wire.start,
        wire.end,
        wire.cable,
        wire.core,
        colour.letters,
        colour.names,
        (named, measured if colour.letters else named),
        means,
        wire.id.partition("#")[0] not in wording.changed,
        index.is_absent(wire),
    )
