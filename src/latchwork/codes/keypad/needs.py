"""What must happen between what a controller holds and what it should hold."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import groupby

from latchwork.codes.content import Content, Span, User
from latchwork.codes.keypad.fieldspec import DAYS
from latchwork.codes.keypad.grammar import Grammar

_EMPTY = User()


@dataclass(frozen=True, slots=True)
class Need:
    """One operation with its values. ``place``: whose, 0 where it is nobody's.

    Needs of one ``bundle`` may be met by one step together.
    """

    operation: str
    values: dict[str, str] = field(default_factory=dict)
    place: int = 0
    bundle: tuple[str, int] = ("", 0)

    def __repr__(self) -> str:
        return f"Need({self.operation!r}, place {self.place})"


def find_needs(grammar: Grammar, now: Content, want: Content) -> list[Need]:
    """Every operation that leads from ``now`` to ``want``, deletions first.

    Raises ValueError where the grammar has no words for what is wanted: ``wanted`` leaves such
    things out beforehand.
    """
    needs = list(_users(grammar, now, want))
    for name, value in want.settings.items():
        if now.settings.get(name) != value:
            needs.append(Need(f"set {name}", {name: value}))
    needs += _times(now, want)
    needs += _holidays(now, want)
    if want.clock and want.clock != now.clock:
        day, _, time = want.clock.partition("T")
        needs.append(Need("set clock", {"clock date": day, "clock time": time}))
    for kind, code in want.codes.items():
        if now.codes.get(kind) != code:
            needs.append(Need(f"change {kind}", {f"new {kind}": code}))
    return needs


def _users(grammar: Grammar, now: Content, want: Content) -> Iterator[Need]:
    changed = {p for p in {*now.users, *want.users} if now.users.get(p) != want.users.get(p)}
    if now.users and not want.users and grammar.can("delete all users"):
        yield Need("delete all users")
        return
    anew = _must_go_first(grammar, now, want, changed)
    builds: list[Need] = []
    for place in sorted(changed):
        old, new = now.users.get(place, _EMPTY), want.users.get(place, _EMPTY)
        if not old.empty and (new.empty or place in anew):
            yield Need("delete place", {"place": str(place)}, place)
            old = _EMPTY
        elif not old.empty:
            for card in old.cards:
                if card not in new.cards and grammar.can("delete card"):
                    yield Need("delete card", {"card": card}, place)
        if not new.empty:
            builds += _build(place, old, new)
    yield from _ranges(grammar, builds)


def _must_go_first(grammar: Grammar, now: Content, want: Content, changed: set[int]) -> set[int]:
    """Places to be emptied before they are filled: they cannot be changed in place, or hold a code
    that another place is about to get."""
    anew = {
        p
        for p in changed
        if p in now.users
        and p in want.users
        and not _in_place(grammar, now.users[p], want.users[p])
    }
    holders = {u.pin: p for p, u in now.users.items() if u.pin}
    holders |= {c: p for p, u in now.users.items() for c in u.cards}
    for place in changed:
        user = want.users.get(place, _EMPTY)
        for code in (user.pin, *user.cards):
            other = holders.get(code, place)
            if other != place:
                anew.add(other)
    return anew


def _in_place(grammar: Grammar, old: User, new: User) -> bool:
    """Whether steps exist that turn one user into another without deleting the place."""
    manners = grammar.manners
    if manners.place_holds == "one thing":
        same = (old.pin, old.cards) == (new.pin, new.cards)
        return same and not (old.until and not new.until)
    pin_ok = old.pin == new.pin or not old.pin or (new.pin and manners.used_place == "replaced")
    gone = [c for c in old.cards if c not in new.cards]
    fresh = [c for c in new.cards if c not in old.cards]
    if gone and grammar.can("delete card"):
        cards_ok = True
    elif gone:
        cards_ok = manners.most_cards == 1 and bool(fresh) and manners.used_place == "replaced"
    else:
        cards_ok = len(new.cards) <= manners.most_cards
    # Cards stand in the order in which they were given.
    kept_first = new.cards == tuple(c for c in old.cards if c in new.cards) + tuple(fresh)
    return bool(pin_ok and cards_ok and kept_first and not (old.until and not new.until))


def _build(place: int, old: User, new: User) -> Iterator[Need]:
    at, bundle = str(place), ("user", place)

    def need(operation: str, **values: str) -> Need:
        return Need(operation, {"place": at, **values}, place, bundle)

    if new.pin and new.pin != old.pin:
        yield need("add PIN", pin=new.pin)
    for index, card in enumerate(c for c in new.cards if c not in old.cards):
        bundle = ("user", place) if index == 0 else (f"card {index}", place)
        yield need("add card", card=card)
    bundle = ("user", place)
    if new.relay != old.relay:
        yield need("set relay", relay=new.relay)
    if new.times != old.times:
        yield need("set times", times=str(new.times))
    if new.until and new.until != old.until:
        yield need("set until", date=new.until)
    if new.kind != old.kind:
        yield need("set kind", kind=new.kind)


def _ranges(grammar: Grammar, builds: list[Need]) -> Iterator[Need]:
    """Runs of new places with running card numbers become one step, where one exists."""
    cards = {n.place: int(n.values["card"]) for n in builds if n.operation == "add card"}
    alone = {p for p in cards if sum(n.place == p for n in builds) == 1} if cards else set()
    if not alone or not grammar.can("add card range"):
        yield from builds
        return
    in_range: set[int] = set()
    ordered = sorted(alone)
    for _, run in groupby(enumerate(ordered), lambda t: (t[1] - t[0], cards[t[1]] - t[0])):
        places = [p for _, p in run]
        if len(places) > 1:
            in_range.update(places)
            values = {"place": str(places[0]), "count": str(len(places))}
            values["card"] = str(cards[places[0]])
            yield Need("add card range", values, places[0])
    yield from (n for n in builds if n.place not in in_range)


def _times(now: Content, want: Content) -> Iterator[Need]:
    for number in sorted({*now.times, *want.times}):
        have, wish = set(now.times.get(number, ())), set(want.times.get(number, ()))
        if have - wish:
            yield Need("clear times", {"times": str(number)})
            have = set()
        for days, start, end in _joined_days(wish - have):
            values = {"times": str(number), "from": clock(start), "to": clock(end)}
            values |= {"day": DAYS[days[0]], "last day": DAYS[days[-1]]}
            yield Need("add times", values)


def _joined_days(spans: Iterable[Span]) -> Iterator[tuple[list[int], int, int]]:
    by_hours: dict[tuple[int, int], list[int]] = {}
    for day, start, end in sorted(spans):
        by_hours.setdefault((start, end), []).append(day)
    for (start, end), days in by_hours.items():
        for _, run in groupby(enumerate(days), lambda t: t[1] - t[0]):
            yield [d for _, d in run], start, end


def clock(minute: int) -> str:
    """HH:MM of a minute of the day."""
    return f"{minute // 60:02d}:{minute % 60:02d}"


def _holidays(now: Content, want: Content) -> Iterator[Need]:
    have, wish = set(now.holidays), set(want.holidays)
    if have - wish:
        yield Need("clear holidays")
        have = set()
    for day in sorted(wish - have):
        yield Need("add holiday", {"date": day})
