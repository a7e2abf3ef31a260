"""What sheets that nobody confirmed may have left in a controller, once another one was."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

from latchwork.codes.content import Content, Span, User
from latchwork.codes.keypad.confirming import unconfirmed
from latchwork.codes.keypad.grammar import Grammar
from latchwork.codes.keypad.memory import factory_content
from latchwork.codes.register.register import Register

_NOBODY = User()
Thing = TypeVar("Thing", Span, str)
_Turn = tuple[Content, Content]
"""What a controller holds before a sheet, and after as much of it as is meant."""


@dataclass(frozen=True, slots=True)
class LeftBehind:
    """A sheet that nobody confirmed before another one was: where it was keyed in all the same, it
    left something that no sheet since has changed. In ``places``, of whom it names; the numbers of
    weekly ``times``; the names of ``settings``; ``holidays``. ``gone``: places out of which it took
    somebody, or a PIN or card of theirs, whom sheets since count on as still there; and so are
    ``fewer_times`` and ``fewer_holidays``."""

    number: int
    places: Mapping[int, str]
    times: tuple[int, ...] = ()
    settings: tuple[str, ...] = ()
    gone: Mapping[int, str] = field(default_factory=dict)
    holidays: tuple[str, ...] = ()
    fewer_times: tuple[int, ...] = ()
    fewer_holidays: tuple[str, ...] = ()


def left_behind(
    register: Register, controller: str, grammar: Grammar | None
) -> tuple[LeftBehind, ...]:
    """What may be in a controller beside what was confirmed. A sheet that gives it other codes is
    not among them: after it the other one's first step is refused. ``grammar``: how it is
    programmed, None where that is not known; then more may be left."""
    factory = factory_content(grammar) if grammar else Content()
    room = grammar.manners.most_cards if grammar else 2
    papers = register.sheets.get(controller, ())
    ever = register.ever_confirmed.get(controller, {})
    numbers = {*ever, *unconfirmed(register, controller)}
    found = []
    for paper in papers:
        before = paper.begins or factory
        if paper.made.number in numbers or paper.made.content.codes != before.codes:
            continue
        later = [
            p
            for p in papers
            if p.made.number in ever
            and (p.made.number > paper.made.number or p.begins == paper.begins)
        ]
        if any(p.made.from_reset for p in later):
            continue
        since = [(p.begins or factory, ever[p.made.number]) for p in later]
        turn = (before, paper.made.content)
        left = LeftBehind(
            paper.made.number,
            {place: paper.owners.get(place, "") for place in _places(turn, since, room)},
            tuple(_times(turn, since)),
            tuple(_settings(turn, since)),
            {place: paper.owners.get(place, "") for place in _gone(turn, since)},
            tuple(sorted(_more(*_days(turn), map(_days, since)))),
            tuple(_fewer_times(turn, since)),
            tuple(sorted(_fewer(*_days(turn), map(_days, since)))),
        )
        if left != LeftBehind(left.number, {}):
            found.append(left)
    return tuple(found)


def _places(turn: _Turn, since: Sequence[_Turn], room: int) -> Iterator[int]:
    before, after = turn
    for place, user in sorted(after.users.items()):
        was = before.users.get(place, _NOBODY)
        turns = [(b.users.get(place, _NOBODY), a.users.get(place, _NOBODY)) for b, a in since]
        if user != was and not any(_settled(was, user, *turn, room) for turn in turns):
            yield place


def _gone(turn: _Turn, since: Sequence[_Turn]) -> Iterator[int]:
    before, after = turn
    for place, was in sorted(before.users.items()):
        left = after.users.get(place, _NOBODY)
        pin, cards = was.pin if not left.pin else "", set(was.cards) - set(left.cards)
        for begins, ends in since:
            b, e = begins.users.get(place, _NOBODY), ends.users.get(place, _NOBODY)
            # What a later sheet takes out too, or gives anew, is as that one says.
            pin = pin if b.pin == pin == e.pin else ""
            cards &= {*b.cards} & {*e.cards}
        if pin or cards:
            yield place


def _settled(was: User, left: User, begins: User, ends: User, room: int) -> bool:
    """Whether a place that a sheet changed so is as a later one says after that: it says the same,
    deletes the place, or changes all that was changed there. A card that comes to a place with room
    for one is refused, or takes the other one's place."""
    if ends == left or (ends.empty and not begins.empty):
        return True
    given = room == 1 and not set(ends.cards) <= set(begins.cards)
    cards = given or set(left.cards) <= {*was.cards, *ends.cards}
    pin = left.pin in ("", was.pin, ends.pin) or begins.pin != ends.pin
    return (
        cards
        and pin
        and all(
            getattr(left, part) in (getattr(was, part), getattr(ends, part))
            or getattr(begins, part) != getattr(ends, part)
            for part in ("relay", "times", "until", "kind")
        )
    )


def _times(turn: _Turn, since: Sequence[_Turn]) -> Iterator[int]:
    for number in sorted(turn[1].times):
        if _more(*_hours(turn, number), (_hours(each, number) for each in since)):
            yield number


def _fewer_times(turn: _Turn, since: Sequence[_Turn]) -> Iterator[int]:
    for number in sorted(turn[0].times):
        if _fewer(*_hours(turn, number), (_hours(each, number) for each in since)):
            yield number


def _hours(turn: _Turn, number: int) -> tuple[frozenset[Span], frozenset[Span]]:
    before, after = (frozenset(each.times.get(number, ())) for each in turn)
    return before, after


def _days(turn: _Turn) -> tuple[frozenset[str], frozenset[str]]:
    before, after = (frozenset(each.holidays) for each in turn)
    return before, after


def _more(
    was: frozenset[Thing],
    left: frozenset[Thing],
    since: Iterable[tuple[frozenset[Thing], frozenset[Thing]]],
) -> frozenset[Thing]:
    """What a sheet added that none since has; a list that loses any is cleared and given anew."""
    more = left - was
    for begins, ends in since:
        more = frozenset() if begins - ends else more - ends
    return more


def _fewer(
    was: frozenset[Thing],
    left: frozenset[Thing],
    since: Iterable[tuple[frozenset[Thing], frozenset[Thing]]],
) -> frozenset[Thing]:
    """What a sheet took out that those since count on, or that none has given anew."""
    fewer = was - left
    for begins, ends in since:
        fewer = frozenset() if begins - ends else fewer & begins & ends
    return fewer


def _settings(turn: _Turn, since: Sequence[_Turn]) -> Iterator[str]:
    before, after = turn
    for name, value in sorted(after.settings.items()):
        turns = [(b.settings.get(name), a.settings.get(name)) for b, a in since]
        changed = any(ends == value or begins != ends for begins, ends in turns)
        if value != before.settings.get(name) and not changed:
            yield name
