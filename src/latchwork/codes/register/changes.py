"""What can happen to a register, one type each. The store is a list of these and nothing else."""

from __future__ import annotations

import datetime as dt
from typing import Any

import msgspec

from latchwork.codes.content import Content, Span
from latchwork.codes.secret import Secret

ALWAYS = "always"
"""The weekly times that need no entry."""


class _Change(msgspec.Struct, frozen=True, omit_defaults=True, forbid_unknown_fields=True):
    """A fact that holds from the entry's moment on."""


class HolderAdded(_Change, frozen=True, tag="holder added"):
    """Someone's passphrase opens the store from now on."""

    id: str
    name: str
    public: bytes


class HolderWithdrawn(_Change, frozen=True, tag="holder withdrawn"):
    """Someone's passphrase opens nothing saved from now on."""

    id: str


class Person(_Change, frozen=True, tag="person"):
    """A person as they are from now on. Days are the site's; ``valid_until`` is the last."""

    id: str
    name: str
    groups: tuple[str, ...] = ()
    valid_from: dt.date | None = None
    valid_until: dt.date | None = None
    suspended: bool = False
    kind: str = "normal"
    """normal, visitor, single use or duress, for controllers that know the difference."""
    note: str = ""


class PersonRemoved(_Change, frozen=True, tag="person removed"):
    """A leaver. Their PIN, cards and places go with them."""

    id: str


class PinGiven(_Change, frozen=True, tag="pin"):
    """A person's PIN, one at most."""

    person: str
    pin: Secret


class PinDropped(_Change, frozen=True, tag="pin dropped"):
    """A person has no PIN any more."""

    person: str


class Card(_Change, frozen=True, tag="card"):
    """A card or fob in somebody's hands. ``value``: the number on the wire without parity."""

    id: str
    person: str
    layout: str
    value: int
    facility: int | None = None
    number: int | None = None
    printed: str = ""


class CardDropped(_Change, frozen=True, tag="card dropped"):
    """A card handed in, or lost."""

    id: str
    lost: bool = False


class Grant(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A door and the weekly times it may be opened."""

    door: str
    times: str = ALWAYS


class Group(_Change, frozen=True, tag="group"):
    """What people of a group may open."""

    name: str
    grants: tuple[Grant, ...] = ()


class GroupRemoved(_Change, frozen=True, tag="group removed"):
    """Nobody may open anything by this group any more."""

    name: str


class WeeklyTimes(_Change, frozen=True, tag="times"):
    """Hours by the clock on the site's wall. ``on_holidays``: (first, end) minutes of the day."""

    name: str
    spans: tuple[Span, ...]
    on_holidays: tuple[tuple[int, int], ...] = ()


class TimesRemoved(_Change, frozen=True, tag="times removed"):
    """Weekly times that nothing uses."""

    name: str


class Holiday(_Change, frozen=True, tag="holiday"):
    """A day on which the holiday hours hold."""

    day: dt.date
    name: str = ""


class HolidayRemoved(_Change, frozen=True, tag="holiday removed"):
    """An ordinary day again."""

    day: dt.date


class PlaceTaken(_Change, frozen=True, tag="place"):
    """A place (user slot) of a controller is a person's. ``holds``: all, pin, or a card id."""

    controller: str
    place: int
    person: str
    holds: str = "all"


class PlaceFreed(_Change, frozen=True, tag="place freed"):
    """A place nobody has."""

    controller: str
    place: int


class ControllerSetUp(_Change, frozen=True, tag="controller"):
    """How a controller is programmed and which settings are wanted, those not named at factory."""

    controller: str
    grammar: str
    pin_length: int = 6
    settings: dict[str, str] = {}


class ControllerCode(_Change, frozen=True, tag="controller code"):
    """A code of the controller itself: installer, manager, master or master card."""

    controller: str
    kind: str
    code: Secret


class SheetMade(_Change, frozen=True, tag="sheet"):
    """A sheet was printed. ``content``: what the controller holds once it is keyed in."""

    controller: str
    number: int
    content: Content
    from_reset: bool = False
    grammar: str = ""
    """By which grammar it is keyed in; "" in entries of before this was kept."""


class Programmed(_Change, frozen=True, tag="programmed"):
    """Somebody keyed a sheet in, heard what it said, and confirmed: this is in the controller."""

    controller: str
    content: Content
    grammar: str = ""
    """By which grammar it was keyed in; "" in entries of before this was kept."""
    sheet: int = 0
    """Of which sheet this is all or the first steps; 0 for the last one printed, which it always
    was before a sheet could be named."""


class UnitFitted(_Change, frozen=True, tag="unit"):
    """Which part of the catalogue a controller is, as its sheets go by it; entries of before this
    was kept say nothing of it."""

    controller: str
    unit: str


class ControllerReplaced(_Change, frozen=True, tag="controller replaced"):
    """Another unit hangs in a controller's place, as it left the factory."""

    controller: str


Change = (
    HolderAdded
    | HolderWithdrawn
    | Person
    | PersonRemoved
    | PinGiven
    | PinDropped
    | Card
    | CardDropped
    | Group
    | GroupRemoved
    | WeeklyTimes
    | TimesRemoved
    | Holiday
    | HolidayRemoved
    | PlaceTaken
    | PlaceFreed
    | ControllerSetUp
    | ControllerCode
    | SheetMade
    | Programmed
    | UnitFitted
    | ControllerReplaced
)


class Entry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Changes made together: when, by which holder, and why."""

    at: dt.datetime
    by: str
    why: str
    changes: tuple[Change, ...]


def _show_secret(value: Any) -> Any:
    if isinstance(value, Secret):
        return value.reveal()
    raise NotImplementedError(type(value).__name__)


def _hide_secret(kind: type, value: Any) -> Any:
    if kind is Secret and isinstance(value, str):
        return Secret(value)
    raise NotImplementedError(kind.__name__)


_encoder = msgspec.json.Encoder(enc_hook=_show_secret)
_decoder = msgspec.json.Decoder(Entry, dec_hook=_hide_secret)


def encode_entry(entry: Entry) -> bytes:
    """One line of the store's log, secrets in the clear: only for the sealed body."""
    return _encoder.encode(entry) + b"\n"


def decode_entries(payload: bytes) -> list[Entry]:
    """The log of a body. Raises msgspec.DecodeError (ValidationError included) where it is none."""
    return _decoder.decode_lines(payload)
