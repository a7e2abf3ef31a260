"""A controller's programming as data: states, keys, what each step means and what it answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

DIGITS = frozenset("0123456789")
CASE_BUTTON = "case-button"
"""The programming button inside the case, written like a key."""


@dataclass(frozen=True, slots=True)
class FieldSpec:
    """What is keyed for one field.

    ``form``: number, text (digits as they are), date (with ``pattern`` such as DDMMYY), time
    (HHMM), choice (``choices`` from keys to values) or input (a card, a finger).
    """

    name: str
    form: str
    least: int = 1
    most: int = 1
    pattern: str = ""
    choices: Mapping[str, str] = field(default_factory=dict)
    alphabet: frozenset[str] = DIGITS
    shown: bool = False
    """Whether a display shows what is keyed."""


@dataclass(frozen=True, slots=True)
class Token:
    """One thing to key: a key, or a field. ``shows``: what is seen after it ("" as before)."""

    key: str = ""
    field: str = ""
    shows: str = ""


@dataclass(frozen=True, slots=True)
class Edge:
    """A whole step: from a state, by tokens, to a state.

    ``does``: operations of the vocabulary, none for moving about. ``given``: field values that the
    step says by itself. ``signal``: what is heard or seen at its end. ``what``: words for people,
    with fields in braces.
    """

    id: str
    state: str
    tokens: tuple[Token, ...]
    to: str
    does: tuple[str, ...] = ()
    given: Mapping[str, str] = field(default_factory=dict)
    signal: str = "ok"
    what: str = ""
    line: int = 0

    @property
    def fields(self) -> tuple[str, ...]:
        """Names of the fields keyed, in order."""
        return tuple(t.field for t in self.tokens if t.field)


@dataclass(frozen=True, slots=True)
class State:
    """Where the controller waits. ``shows``: display or lamp. ``error_to``: after a wrong key."""

    name: str
    shows: str
    edges: tuple[Edge, ...]
    error_to: str
    cancel: tuple[str, ...] = ()
    """Keys that drop what was begun and stay in the state."""
    idle: bool = False
    """Whether this is ordinary service: no time-out, wrong attempts count."""
    line: int = 0


@dataclass(frozen=True, slots=True)
class Signal:
    """An answer of the controller, in words."""

    hear: str = ""
    see: str = ""


@dataclass(frozen=True, slots=True)
class SettingSpec:
    """A setting of this controller: its value from the factory, and the numbers it takes."""

    factory: str
    least: int = 0
    most: int = 0


@dataclass(frozen=True, slots=True)
class Manners:
    """How a controller behaves where controllers differ.

    ``tells_apart``: by PIN (the PIN alone says who), or by place or card first.
    ``place_holds``: everything of a person, or one thing. ``used_place``: refused or replaced.
    ``same_code``: whether a PIN or card that another place has is refused or moved there.
    ``empty_delete``: whether deleting what is not there is refused or passes.
    """

    tells_apart: str = "PIN"
    place_holds: str = "everything"
    most_cards: int = 1
    used_place: str = "refused"
    same_code: str = "refused"
    empty_delete: str = "refused"
    card_bits: int = 24
    """How many low bits of a card's number the controller keeps."""


@dataclass(frozen=True, eq=False)
class Grammar:
    """One kind of controller, as its manual would have it. Each is equal to itself alone."""

    name: str
    what: str
    keys: tuple[str, ...]
    states: Mapping[str, State]
    start: str
    fields: Mapping[str, FieldSpec]
    settings: Mapping[str, SettingSpec]
    signals: Mapping[str, Signal]
    first_place: int
    last_place: int
    times_out_s: int
    manners: Manners = Manners()
    factory_codes: Mapping[str, str] = field(default_factory=dict)
    reset_keeps: tuple[str, ...] = ()
    """Of users, settings, codes, times, holidays, clock: what a factory reset leaves."""
    display: bool = False
    file: str = ""

    @cached_property
    def edges(self) -> tuple[Edge, ...]:
        """Every step, in the order of the file."""
        return tuple(e for s in self.states.values() for e in s.edges)

    def can(self, operation: str) -> bool:
        """Whether any step means this."""
        return operation in self._operations

    @cached_property
    def _operations(self) -> frozenset[str]:
        return frozenset(operation for e in self.edges for operation in e.does)
