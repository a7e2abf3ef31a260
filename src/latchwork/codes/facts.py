"""What the verbs about codes tell programs (``--json``). The first field is the form's version."""

from __future__ import annotations

import msgspec


class CouldFacts(msgspec.Struct, frozen=True):
    """One person at a door: may by the register, can by what is in the controller."""

    id: str
    name: str
    may: bool
    can: bool
    why: str
    controller: str
    place: int


class MomentFacts(msgspec.Struct, frozen=True):
    """Everybody at one instant, ISO 8601 with the site's offset; or at some time of a day.

    ``together``: how many of them it takes at once, 1 where each opens alone. ``besides``: in
    words, what the answer cannot know: units never confirmed, sheets printed and not confirmed.
    """

    at: str
    people: tuple[CouldFacts, ...]
    together: int
    besides: tuple[str, ...]


class WhoFacts(msgspec.Struct, frozen=True):
    """Who could open a door; two answers where a change of the clock shows a time twice."""

    latchwork_codes_who: int
    door: str
    answers: tuple[MomentFacts, ...]


class DoorFacts(msgspec.Struct, frozen=True):
    """A door somebody may open, and the weekly times."""

    id: str
    name: str
    times: tuple[str, ...]


class PlaceFacts(msgspec.Struct, frozen=True):
    """A place in a controller, and whether it was confirmed as keyed in."""

    controller: str
    place: int
    keyed_in: bool


class PersonFacts(msgspec.Struct, frozen=True):
    """One person. ``pin`` is "" for none, dots unless codes were asked for."""

    latchwork_codes_person: int
    id: str
    name: str
    groups: tuple[str, ...]
    suspended: bool
    pin: str
    cards: tuple[str, ...]
    doors: tuple[DoorFacts, ...]
    places: tuple[PlaceFacts, ...]


class StepFacts(msgspec.Struct, frozen=True):
    """One numbered line of a sheet. ``signal`` and ``shows`` are the answer to its last key."""

    kind: str
    what: str
    place: int
    person: str
    keys: tuple[str, ...]
    signal: str
    shows: str


class HarmFacts(msgspec.Struct, frozen=True):
    """A slip that passes unnoticed: in which part of the step, and what is then otherwise."""

    slip: str
    part: str
    effects: tuple[str, ...]
    ways: int


class SlipFacts(msgspec.Struct, frozen=True):
    """How slips in one kind of step end."""

    kind: str
    caught: int
    harmless: int
    harmful: tuple[HarmFacts, ...]


class NoteFacts(msgspec.Struct, frozen=True):
    """Something the controller cannot be told, or to be warned of."""

    code: str
    who: tuple[str, ...]
    detail: str


class SheetFacts(msgspec.Struct, frozen=True):
    """A proved sheet. ``begins``: confirmed, factory or reset. Codes are dots unless asked for."""

    latchwork_keypad: int
    controller: str
    grammar: str
    sheet: int
    begins: str
    steps: tuple[StepFacts, ...]
    slips: tuple[SlipFacts, ...]
    notes: tuple[NoteFacts, ...]
