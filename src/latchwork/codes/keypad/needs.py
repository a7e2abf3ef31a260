"""What must happen between what a controller holds and what it should hold."""

from __future__ import annotations

from collections import Counter
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


def find_needs(grammar: Grammar, now: Content, want: Content) -> list[list[Need]]:
    """Ways from ``now`` to ``want``, each a list of operations, deletions first.

    There is one way place by place, and where nobody stays, one that deletes everybody at once.
    A wipe that would take out people who stay is no way: their cards are not at hand.
    """
    others: list[Need] = []
    for name, value in want.settings.items():
        if now.settings.get(name) != value:
            others.append(Need(f"set {name}", {name: value}))
    others += _times(now, want)
    others += _holidays(now, want)
    if want.clock and want.clock != now.clock:
        day, _, time = want.clock.partition("T")
        others.append(Need("set clock", {"clock date": day, "clock time": time}))
    for kind, code in want.codes.items():
        if now.codes.get(kind) != code:
            others.append(Need(f"change {kind}", {f"new {kind}": code}))
    ways = [[*need, *others] for need in _users(grammar, now, want)]
    return [way for way in ways if way]


def _users(grammar: Grammar, now: Content, want: Content) -> list[list[Need]]:
    changed = sorted(p for p in {*now.users, *want.users} if now.users.get(p) != want.users.get(p))
    emptied = _emptied(grammar, now, want, changed)
    deletes: list[Need] = []
    builds: list[Need] = []
    for place in changed:
        old, new = now.users.get(place, _EMPTY), want.users.get(place, _EMPTY)
        if place in emptied:
            deletes.append(Need("delete place", {"place": str(place)}, place))
            old = _EMPTY
        elif grammar.manners.place_holds == "one thing" and _codes(old) != _codes(new):
            old = _EMPTY  # what is given replaces everything that was there
        else:
            deletes += [
                Need("delete card", {"card": card}, place)
                for card in old.cards
                if card not in new.cards and grammar.can("delete card")
            ]
            if _pin_goes_first(grammar, old, new):
                deletes.append(Need("delete PIN", {"pin": old.pin}, place))
        if not new.empty:
            builds += _build(place, old, new)
    ways = [[*deletes, *_ranges(grammar, builds)]]
    if now.users and set(now.users) <= emptied and grammar.can("delete all users"):
        ways.append([Need("delete all users"), *_ranges(grammar, builds)])
    return ways


def _codes(user: User) -> tuple[str, ...]:
    return (user.pin, *user.cards)


def _emptied(grammar: Grammar, now: Content, want: Content, changed: list[int]) -> set[int]:
    """Places to be deleted: nobody's from now on, or not to be changed as they stand, or holding a
    code that another place is about to get."""
    manners = grammar.manners
    holders = {code: p for p, u in now.users.items() for code in _codes(u) if code}
    given = {
        code
        for p in changed
        for code in _codes(want.users.get(p, _EMPTY))
        if code and holders.get(code, p) != p
    }
    emptied = set()
    for place in changed:
        old, new = now.users.get(place, _EMPTY), want.users.get(place, _EMPTY)
        if old.empty:
            continue
        held = {code for code in _codes(old) if code}
        if manners.same_code == "refused" and held & given:
            emptied.add(place)
        elif new.empty:
            # Where codes move, giving all of them elsewhere empties the place too.
            if not (manners.same_code == "moved" and held <= given):
                emptied.add(place)
        elif not _in_place(grammar, old, new):
            emptied.add(place)
    return emptied


def _in_place(grammar: Grammar, old: User, new: User) -> bool:
    """Whether steps exist that turn one user into another without deleting the place."""
    manners = grammar.manners
    keeps_until = not (old.until and not new.until)
    if manners.place_holds == "one thing":
        if _codes(old) == _codes(new):
            return keeps_until
        return manners.used_place == "replaced"
    pin_goes = _pin_goes_first(grammar, old, new)
    gone = [c for c in old.cards if c not in new.cards]
    kept = tuple(c for c in old.cards if c in new.cards)
    fresh = tuple(c for c in new.cards if c not in old.cards)
    # The last thing deleted takes the user's relay, hours and kind with it.
    pin_ok = not pin_goes or (kept and grammar.can("delete PIN"))
    if gone and grammar.can("delete card"):
        cards_ok = bool(kept or (old.pin and not pin_goes))
    elif gone:
        cards_ok = manners.most_cards == 1 and bool(fresh) and manners.used_place == "replaced"
    else:
        cards_ok = len(new.cards) <= manners.most_cards
    # Cards stand in the order in which they were given.
    return bool(pin_ok and cards_ok and new.cards == kept + fresh and keeps_until)


def _pin_goes_first(grammar: Grammar, old: User, new: User) -> bool:
    """Whether the old PIN must be deleted: no new one takes its place by itself."""
    replaced = new.pin and grammar.manners.used_place == "replaced"
    return bool(old.pin and old.pin != new.pin and not replaced)


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
    steps = Counter(n.place for n in builds)
    alone = {p for p in cards if steps[p] == 1}
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
