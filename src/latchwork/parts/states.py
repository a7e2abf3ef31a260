"""What a part may be instead of sound: "contact NO welded", "coil open", "battery weak" …

``states_of`` lists the states of a part, ``with_state`` gives the part in one of them. A state
follows from what the part is made of, so that a new kind of part has its states at once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from latchwork.elements import (
    FALSE,
    TRUE,
    Bolt,
    Certainty,
    Const,
    Contact,
    Diode,
    Element,
    Figure,
    Flag,
    Fuse,
    Input,
    Load,
    Resistor,
    ResistorRole,
    Rule,
    Sense,
    Source,
    SourceShape,
    Speed,
    StateRule,
    expr_flags,
)
from latchwork.parts.arithmetic import scaled
from latchwork.parts.kinds.usual import READS
from latchwork.parts.model import Part
from latchwork.parts.names import nearest
from latchwork.parts.rewriting import fixed, with_element, with_more, with_rule
from latchwork.parts.state_names import (
    BATTERY_JOINT,
    CHARGER_DEAD,
    CHARGING,
    DEAD_AND_FLAT,
    GIVES_LESS,
    WORN,
)

SHORT_OHM = 0.1
"""A shorted coil, diode or varistor (common practice, no source)."""
WEAK_BATTERY = 10.0
"""How many times its resistance a weak battery has (common practice, no source)."""
REGULATOR_LOW, REGULATOR_HIGH = 0.85, 1.2
"""Output of a supply whose regulator has failed, of its own (common practice, no source)."""

_INPUT_STATES = {"triggered": ("sensor triggered", "sensor blind")}
_STUCK = ("pressed", "pushed", "pulled")
_SOURCES = {"mains supply": "supply", "secondary": "transformer", "port": "port"}


@dataclass(frozen=True, slots=True)
class StateDef:
    """A state a part may be in.

    ``about`` is the element or flag it is a state of ("" for the whole part). ``needs_ohm``: a
    resistance may be put to it. ``seen_by_dc``: direct current or volts tell it from sound.
    """

    name: str
    about: str
    needs_ohm: bool = False
    seen_by_dc: bool = True


class StateNotFound(LookupError):
    """A part has no such state. ``nearest`` are the names closest to it."""

    def __init__(self, state: str, close: tuple[str, ...]) -> None:
        super().__init__(f"no state {state!r}; nearest: {', '.join(close)}")
        self.state = state
        self.nearest = close


_Change = Callable[[Part, Figure | None], Part]
_States = Iterator[tuple[StateDef, _Change]]


def states_of(part: Part) -> tuple[StateDef, ...]:
    """Every state the part may be in."""
    return tuple(definition for definition, _ in _all(part))


def in_every_state(part: Part) -> Iterator[tuple[StateDef, Part]]:
    """Every state the part may be in, with the part in it at its own figures."""
    for definition, change in _all(part):
        yield definition, change(part, None)


def with_state(part: Part, state: str, ohm: Figure | None = None) -> Part:
    """The part in a state. ``ohm`` is its resistance where the state takes one.

    Raises StateNotFound with the nearest names.
    """
    for definition, change in _all(part):
        if definition.name.casefold() == state.strip().casefold():
            return change(part, ohm)
    known = tuple(definition.name for definition in states_of(part))
    raise StateNotFound(state, nearest(state, known) or known)


def _all(part: Part) -> _States:
    for element in part.elements:
        yield from _of_element(part, element)
    for rule in part.rules:
        if isinstance(rule, Input):
            yield from _of_input(part, rule)
        elif isinstance(rule, Rule):
            yield from _of_rule(rule)
    if part.kind == "controller":
        yield StateDef("controller frozen on", "relay"), lambda p, _: _frozen(p, True)
        yield StateDef("controller frozen off", "relay"), lambda p, _: _frozen(p, False)
    if part.kind == "varistor" or part.facts.get("suppression") == "built-in varistor":
        yield StateDef("varistor short", "", needs_ohm=True), _varistor_short
    if part.elements:
        yield StateDef("missing", ""), lambda p, _: _absent(p)


def _absent(part: Part) -> Part:
    """The part not there at all. A lock takes its bolt with it: it holds no door, whatever the
    volts at the cores that were left."""
    bolts = any(isinstance(rule, Bolt) for rule in part.rules)
    return replace(part, elements=(), rules=() if bolts else part.rules)


def _gone(name: str) -> _Change:
    return lambda part, _: with_element(part, name, lambda _e: None)


def _short(name: str) -> _Change:
    """The element as a small resistance; as given, or ``SHORT_OHM``."""

    def change(part: Part, ohm: Figure | None) -> Part:
        def shorted(old: Element) -> Element:
            a, b = (old.anode, old.cathode) if isinstance(old, Diode) else _two_ends(old)
            return Resistor(old.name, a, b, ohm or _known(SHORT_OHM), ResistorRole.LEAK)

        return with_element(part, name, shorted)

    return change


def _coil(name: str, change: _Change) -> _Change:
    """A coil that pulls no more, whatever volts are at its terminals.

    Of two coils side by side each does its own part: the strong one picks up while it is on, the
    other holds what was picked up.
    """

    def changed(part: Part, ohm: Figure | None) -> Part:
        coil = next(e for e in part.elements if e.name == name)
        beside = [
            e
            for e in part.elements
            if isinstance(e, Resistor)
            and e.role is ResistorRole.COIL
            and e.name != name
            and _two_ends(e) == _two_ends(coil)
        ]

        def without(rule: StateRule) -> StateRule:
            if not isinstance(rule, Bolt | Sense) or (rule.a, rule.b) != _two_ends(coil):
                return rule
            if not beside:
                return replace(rule, needs=FALSE)
            if isinstance(rule, Sense):
                return rule
            left = beside[0].on
            return replace(rule, needs=rule.needs & (Flag(rule.flag) if left == TRUE else left))

        whole = replace(part, rules=tuple(without(rule) for rule in part.rules))
        return change(whole, ohm)

    return changed


def _two_ends(element: Element) -> tuple[str, str]:
    if isinstance(element, Resistor | Contact | Fuse):
        return element.a, element.b
    if isinstance(element, Diode):
        return element.anode, element.cathode
    return element.plus, element.minus


def _known(value: float) -> Figure:
    return Figure(value, value, value, certainty=Certainty.ASSUMED)


def _of_element(part: Part, element: Element) -> _States:
    name = element.name
    match element:
        case Contact():
            yield StateDef(f"{name} welded", name, needs_ohm=True), _welded(name)
            yield StateDef(f"{name} stuck open", name), _stuck_open(name)
        case Resistor(role=ResistorRole.COIL | ResistorRole.LOAD):
            yield StateDef(f"{name} open", name), _coil(name, _gone(name))
            yield StateDef(f"{name} short", name, needs_ohm=True), _coil(name, _short(name))
        case Load() if name in ("coil", "sounder"):
            yield StateDef(f"{name} open", name), _coil(name, _gone(name))
        case Diode():
            yield StateDef(f"{name} open", name, seen_by_dc=False), _gone(name)
            yield StateDef(f"{name} reversed", name), _reversed(name)
            yield StateDef(f"{name} short", name, needs_ohm=True), _short(name)
        case Fuse():
            yield StateDef(f"{name} blown", name), _gone(name)
            yield StateDef(f"{name} bridged", name, seen_by_dc=False), _bridged(name)
        case Source(shape=SourceShape.BREAKS_DOWN, alternating=False):
            yield StateDef("battery dead", name), _gone(name)
            yield StateDef(WORN, name, needs_ohm=True), _weak(name)
        case Source():
            yield from _of_source(part, element)


def _of_source(part: Part, source: Source) -> _States:
    label = _SOURCES.get(source.name, source.name)
    flag = "network" if label == "port" else "mains"
    yield StateDef(f"{label} dead", source.name), lambda p, _: fixed(p, flag, False)
    charges = any(element.name in CHARGING for element in part.elements)
    if label == "supply":
        low = _regulator(source.name, REGULATOR_LOW)
        flat = (lambda p, ohm: _charger_dead(low(p, ohm), ohm)) if _floats(part) else low
        yield StateDef(GIVES_LESS, source.name), flat
        yield StateDef("regulator high", source.name), _regulator(source.name, REGULATOR_HIGH)
    if charges:
        yield StateDef(CHARGER_DEAD, "charger"), _charger_dead
        if label == "supply":
            yield StateDef(DEAD_AND_FLAT, source.name), _dead_and_flat


def _floats(part: Part) -> bool:
    """Whether a supply has its battery on its plus while it has mains: a charging leg of its own is
    not the regulator's."""
    return any(
        isinstance(e, Contact) and e.name == BATTERY_JOINT and "mains" not in expr_flags(e.closed)
        for e in part.elements
    )


def _of_input(part: Part, rule: Input) -> _States:
    flag = rule.flag
    if flag == "dead":
        yield StateDef(f"{part.kind} dead", flag), lambda p, _: fixed(p, flag, True)
    elif flag in _INPUT_STATES:
        always, never = _INPUT_STATES[flag]
        yield StateDef(always, flag), lambda p, _: fixed(p, flag, True)
        yield StateDef(never, flag), lambda p, _: fixed(p, flag, False)
    elif flag in _STUCK:
        yield StateDef(f"stuck {flag}", flag), lambda p, _: fixed(p, flag, True)
        yield StateDef("stuck at rest", flag), lambda p, _: fixed(p, flag, False)


def _of_rule(rule: Rule) -> _States:
    flag = rule.flag
    terminal, _, sees = flag.rpartition("_")
    if flag.startswith("relay"):
        label = f"relay {flag[5:]}".strip()
        yield StateDef(f"{label} stuck on", flag), _forced(flag, True)
        yield StateDef(f"{label} stuck off", flag), _forced(flag, False)
    elif sees == "closed":
        yield StateDef(f"input {terminal} stuck closed", terminal), _stuck_input(terminal, "closed")
        yield StateDef(f"input {terminal} stuck open", terminal), _stuck_input(terminal, "open")


def _forced(flag: str, value: bool) -> _Change:
    return lambda part, _: with_rule(part, flag, Rule(flag, Const(value), Speed.RELAY))


def _stuck_input(terminal: str, sees: str) -> _Change:
    """The unit, while it lives, sees its input closed, or open, whatever is at the terminal."""

    def change(part: Part, _ohm: Figure | None) -> Part:
        for end in ("closed", "open"):
            when = Flag("powered") if end == sees else FALSE
            flag = f"{terminal}_{end}"
            part = with_rule(part, flag, Rule(flag, when, READS))
        return part

    return change


def _frozen(part: Part, energised: bool) -> Part:
    """The unit hangs with its relays as they are; only losing its power lets them drop."""
    for rule in part.rules:
        if isinstance(rule, Rule) and rule.flag.startswith("relay"):
            when = Flag("powered") if energised else FALSE
            part = with_rule(part, rule.flag, Rule(rule.flag, when, Speed.RELAY))
    return part


def _welded(name: str) -> _Change:
    """The contact stays closed; the other throw of the same blade can then never close."""

    def change(part: Part, ohm: Figure | None) -> Part:
        whole = next(e for e in part.elements if e.name == name)
        assert isinstance(whole, Contact)

        def welded(old: Element) -> Element:
            if not isinstance(old, Contact) or not _same_blade(old, whole):
                return old
            if old.name == name:
                return replace(old, closed=TRUE, closed_ohm=ohm or old.closed_ohm)
            return replace(old, closed=FALSE)

        return replace(part, elements=tuple(welded(e) for e in part.elements))

    return change


def _same_blade(one: Contact, other: Contact) -> bool:
    """Whether two contacts are the throws of one changeover, or the same contact."""
    throws = {one.name.removeprefix("contact ")[:2], other.name.removeprefix("contact ")[:2]}
    return one.name == other.name or (one.a == other.a and throws == {"NO", "NC"})


def _stuck_open(name: str) -> _Change:
    def stuck(old: Element) -> Element:
        assert isinstance(old, Contact)
        return replace(old, closed=FALSE)

    return lambda part, _: with_element(part, name, stuck)


def _reversed(name: str) -> _Change:
    def turned(old: Element) -> Element:
        assert isinstance(old, Diode)
        return replace(old, anode=old.cathode, cathode=old.anode)

    return lambda part, _: with_element(part, name, turned)


def _bridged(name: str) -> _Change:
    """A wire in place of a fuse: nothing blows it."""

    def bridged(old: Element) -> Element:
        assert isinstance(old, Fuse)
        return Resistor(name, old.a, old.b, old.ohm, ResistorRole.INTERNAL)

    return lambda part, _: with_element(part, name, bridged)


def _weak(name: str) -> _Change:
    """A worn battery: the resistance as given or ``WEAK_BATTERY`` times its own."""

    def change(part: Part, ohm: Figure | None) -> Part:
        def weak(old: Element) -> Element:
            assert isinstance(old, Source)
            return replace(old, ohm=ohm or scaled(old.ohm, WEAK_BATTERY))

        return with_element(part, name, weak)

    return change


def _regulator(name: str, factor: float) -> _Change:
    def failed(old: Element) -> Element:
        assert isinstance(old, Source)
        return replace(old, volt=scaled(old.volt, factor))

    return lambda part, _: with_element(part, name, failed)


def _charger_dead(part: Part, _ohm: Figure | None) -> Part:
    """Nothing charges the battery: it is flat when it is wanted."""
    return fixed(part, "battery_present", False)


def _dead_and_flat(part: Part, _ohm: Figure | None) -> Part:
    return fixed(fixed(part, "mains", False), "battery_present", False)


def _varistor_short(part: Part, ohm: Figure | None) -> Part:
    a, b = part.terminals[0].name, part.terminals[1].name
    short = Resistor("varistor", a, b, ohm or _known(SHORT_OHM), ResistorRole.LEAK)
    return with_more(part, short)
