"""Importing people: what a list would change, shown before anything is."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from latchwork.codes.cards.batch import Batch, check_batch
from latchwork.codes.cards.layout import Layout
from latchwork.codes.errors import CodesError, file_problem
from latchwork.codes.imports.table import Row, Table
from latchwork.codes.keypad.vocabulary import KINDS
from latchwork.codes.pins import rules
from latchwork.codes.register.changes import Change, Person
from latchwork.codes.register.people import LONGEST_NAME, Draft, as_compared, check_name
from latchwork.codes.register.register import Register
from latchwork.codes.secret import Secret
from latchwork.findings.problems import Problem
from latchwork.job import one_of

COLUMNS = ("id", "name", "groups", "valid from", "valid until", "kind", "note", "pin", "card")
_ALSO = {
    "group": "groups",
    "from": "valid from",
    "until": "valid until",
    "valid to": "valid until",
    "code": "pin",
    "fob": "card",
    "card number": "card",
    "person": "name",
}
_YES = ("yes", "y", "x", "new", "1")
_NO = ("", "no", "n", "-", "0")


@dataclass(frozen=True, slots=True)
class Planned:
    """What would happen to one person. ``kind``: new, changed, same or leaves.

    ``details`` are (what, before, after), without codes.
    """

    kind: str
    name: str
    line: int
    details: tuple[tuple[str, str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Preview:
    """A whole import. ``changes`` are ready to be committed; ``remarks`` are for people."""

    planned: tuple[Planned, ...]
    changes: tuple[Change, ...]
    remarks: tuple[str, ...]
    not_listed: tuple[str, ...]
    """People of the register who are not in the list, and stay unless told to leave."""


@dataclass(frozen=True, slots=True)
class Options:
    """How a list is read. ``facility`` where the prints leave it out, ``printing`` as in batch."""

    layout: Layout
    facility: int | None = None
    printing: str = ""
    pin_digits: int = 6
    default_groups: tuple[str, ...] = ()
    leavers: bool = False
    """Whether people of the register who are not in the list leave."""


@dataclass(slots=True)
class _Import:
    table: Table
    register: Register
    options: Options
    draft: Draft
    problems: list[Problem] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    planned: list[Planned] = field(default_factory=list)
    by_name: dict[str, list[Person]] = field(default_factory=dict)
    owners: dict[int, str] = field(default_factory=dict)
    """Person by the value of their card."""
    pins: dict[Secret, int] = field(default_factory=dict, repr=False)
    """Line by the PIN it gives."""

    def __post_init__(self) -> None:
        for person in self.register.people.values():
            self.by_name.setdefault(as_compared(person.name), []).append(person)
        self.owners = {c.value: c.person for c in self.register.cards.values()}

    def wrong(self, row: Row, column: str, found: str, expected: str) -> None:
        self.problems.append(file_problem(self.table.file, row.line, column, found[:60], expected))


def preview(table: Table, register: Register, options: Options) -> Preview:
    """What a list would change. Raises CodesError with every problem of the list at once."""
    table = _named(table)
    if "name" not in table.columns:
        raise CodesError(
            file_problem(table.file, 1, "name", "no such heading", "a column of names")
        )
    work = _Import(table, register, options, Draft(register))
    unknown = [c for c in table.columns if c not in COLUMNS]
    if unknown:
        work.remarks.append("columns not read: " + ", ".join(c[:30] for c in unknown))
    batch = _cards(work)
    seen: dict[str, int] = {}
    for row in table.rows:
        _one(work, row, batch, seen)
    not_listed = [p for p in register.people.values() if p.id not in seen]
    if options.leavers:
        for person in not_listed:
            work.draft.remove_person(person)
            work.planned.append(Planned("leaves", person.name, 0))
        not_listed = []
    if work.problems:
        raise CodesError(*sorted(work.problems, key=lambda p: p.line))
    return Preview(
        tuple(work.planned),
        tuple(work.draft.changes),
        tuple(work.remarks),
        tuple(p.name for p in not_listed),
    )


def _named(table: Table) -> Table:
    rename = {c: _ALSO.get(c, c) for c in table.columns}
    rows = tuple(Row(r.line, {rename.get(c, c): v for c, v in r.cells.items()}) for r in table.rows)
    return Table(table.file, tuple(dict.fromkeys(rename.values())), rows)


def _cards(work: _Import) -> Batch:
    lost = {c.value: "lost once" for c in work.register.lost_cards.values()}
    prints = [(r.line, r.cells["card"]) for r in work.table.rows if r.cells.get("card")]
    batch = check_batch(
        work.options.layout, prints, {}, work.options.facility, work.options.printing
    )
    rows = {r.line: r for r in work.table.rows}
    for finding in batch.findings:
        row = rows[finding.line]
        if finding.kind == "other facility":
            work.remarks.append(
                f"line {finding.line}: card {finding.printed} has facility {finding.detail}"
            )
        elif finding.kind == "twice":
            work.wrong(row, "card", f"{finding.printed} as in {finding.detail}", "each card once")
        else:
            work.wrong(row, "card", finding.printed, finding.detail)
    for line, card in batch.cards.items():
        row = rows[line]
        owner = work.owners.get(card.value)
        mine = {p.id for p in work.by_name.get(as_compared(row.cells.get("name", "")), ())}
        if owner is not None and owner not in ({row.cells["id"]} if row.cells.get("id") else mine):
            name = work.register.people[owner].name
            work.wrong(row, "card", f"{row.cells['card']}, which {name} has", "a card of one's own")
        if card.value in lost:
            work.wrong(row, "card", f"{row.cells['card']}, lost once", "a new number")
    return batch


def _one(work: _Import, row: Row, batch: Batch, seen: dict[str, int]) -> None:
    before = len(work.problems)
    name = row.cells.get("name", "")
    try:
        name = check_name(name)
    except CodesError:
        work.wrong(row, "name", name or "nothing", f"1 to {LONGEST_NAME} printable characters")
    person = _existing(work, row, name)
    key = person.id if person else as_compared(name)
    if key in seen and name:
        work.wrong(row, "name", f"{name} as in line {seen[key]}", "each person once, or an id")
    seen[key] = row.line
    fields = _fields(work, row, person)
    if len(work.problems) > before:
        return
    if person is None:
        try:
            person = work.draft.add_person(
                name,
                fields.groups,
                fields.valid_from,
                fields.valid_until,
                fields.kind,
                fields.note,
            )
        except CodesError as error:
            work.wrong(row, "valid until", row.cells.get("valid until", ""), str(error))
            return
        details = [("groups", "", ", ".join(fields.groups))] if fields.groups else []
        kind = "new"
    else:
        details = _change(work, row, person, name, fields)
        kind = "changed" if details else "same"
    details += _pin(work, row, person)
    details += _card(work, row, person, batch)
    if details and kind == "same":
        kind = "changed"
    work.planned.append(Planned(kind, name, row.line, tuple(details)))


def _existing(work: _Import, row: Row, name: str) -> Person | None:
    identity = row.cells.get("id", "")
    if identity:
        person = work.register.people.get(identity)
        if person is None:
            work.wrong(row, "id", identity, one_of(identity, work.register.people))
        return person
    same = work.by_name.get(as_compared(name), [])
    if len(same) > 1:
        ids = ", ".join(p.id for p in same)
        work.wrong(row, "name", f"{name}, of whom there are {len(same)}", f"an id: {ids}")
    return same[0] if same else None


@dataclass(frozen=True, slots=True)
class _Fields:
    groups: tuple[str, ...]
    valid_from: dt.date | None
    valid_until: dt.date | None
    kind: str
    note: str


def _fields(work: _Import, row: Row, person: Person | None) -> _Fields:
    groups = tuple(g.strip() for g in re.split(r"[;,/]", row.cells.get("groups", "")) if g.strip())
    if not groups:
        groups = person.groups if person else work.options.default_groups
    known = {g.casefold(): g for g in work.register.groups}
    for group in groups:
        if group.casefold() not in known:
            work.wrong(row, "groups", group, one_of(group, work.register.groups))
    kind = row.cells.get("kind", "") or (person.kind if person else "normal")
    if kind not in KINDS:
        work.wrong(row, "kind", kind, one_of(kind, KINDS))
    return _Fields(
        tuple(known.get(g.casefold(), g) for g in groups),
        _date(work, row, "valid from", person.valid_from if person else None),
        _date(work, row, "valid until", person.valid_until if person else None),
        kind,
        row.cells.get("note", "") or (person.note if person else ""),
    )


def _date(work: _Import, row: Row, column: str, default: dt.date | None) -> dt.date | None:
    text = row.cells.get(column, "")
    if not text:
        return default
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        work.wrong(row, column, text, "a day as YYYY-MM-DD")
        return default


def _change(
    work: _Import, row: Row, person: Person, name: str, fields: _Fields
) -> list[tuple[str, str, str]]:
    new = {
        "name": name,
        "groups": fields.groups,
        "valid_from": fields.valid_from,
        "valid_until": fields.valid_until,
        "kind": fields.kind,
        "note": fields.note,
    }
    try:
        work.draft.change_person(person, **new)
    except CodesError as error:
        work.wrong(row, "valid until", row.cells.get("valid until", ""), str(error))
    return [
        (field.replace("_", " "), _shown(getattr(person, field)), _shown(value))
        for field, value in new.items()
        if getattr(person, field) != value
    ]


def _shown(value: object) -> str:
    if isinstance(value, Sequence) and not isinstance(value, str):
        return ", ".join(value)
    return "" if value is None else str(value)


def _pin(work: _Import, row: Row, person: Person) -> list[tuple[str, str, str]]:
    text = row.cells.get("pin", "")
    if text.casefold() in _NO:
        return []
    has = person.id in work.register.pins
    if text.casefold() in _YES:
        if has:
            return []
        work.draft.give_pin(person.id, work.options.pin_digits)
        return [("PIN", "", "a new one")]
    good = text.isascii() and text.isdecimal() and rules.SHORTEST <= len(text) <= rules.LONGEST
    if not good:
        work.wrong(row, "pin", "something else (not shown)", "yes, no, or 4 to 8 digits")
        return []
    pin = Secret(text)
    if has and work.register.pins[person.id] == pin:
        return []
    try:
        fault = work.draft.give_pin(person.id, len(text), pin)
    except CodesError:
        line = work.pins.get(pin)
        whose = f"the PIN of line {line}" if line else "a PIN that somebody has or had"
        work.wrong(row, "pin", f"{whose} (not shown)", "one of their own, or yes")
        return []
    work.pins[pin] = row.line
    if fault:
        reason = {"near": "near another's", "begins": "the beginning of another's"}
        work.remarks.append(
            f"line {row.line}: {person.name}'s PIN is a weak one ({reason.get(fault, fault)}); "
            "yes in its place gives a new one"
        )
    return [("PIN", "has one" if has else "", "as in the list")]


def _told(work: _Import, row: Row, column: str) -> bool:
    return any(p.line == row.line and p.field == column for p in work.problems)


def _card(work: _Import, row: Row, person: Person, batch: Batch) -> list[tuple[str, str, str]]:
    card = batch.cards.get(row.line)
    if card is None or not row.cells.get("card"):
        return []
    if work.owners.get(card.value) == person.id or _told(work, row, "card"):
        return []
    printed = row.cells["card"]
    try:
        work.draft.give_card(
            person.id, work.options.layout.name, card.value, card.facility, card.number, printed
        )
    except CodesError as error:
        work.wrong(row, "card", str(error), "a card of one's own")
        return []
    return [("card", "", printed)]
