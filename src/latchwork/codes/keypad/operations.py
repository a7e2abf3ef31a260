"""What each operation of the vocabulary does to a controller's memory."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import msgspec

from latchwork.codes.content import User
from latchwork.codes.keypad.fieldspec import DAYS
from latchwork.codes.keypad.grammar import Grammar
from latchwork.codes.keypad.memory import Memory, factory_content

_EMPTY = User()


class Refused(Exception):
    """The controller sounds its error tone and changes nothing."""


Values = Mapping[str, str]


def _place(grammar: Grammar, values: Values, name: str = "place") -> int:
    place = int(values[name])
    if not grammar.first_place <= place <= grammar.last_place:
        raise Refused
    return place


def _held(memory: Memory, place: int) -> User:
    user = memory.users.get(place)
    if user is None:
        raise Refused
    return user


def _room_for(grammar: Grammar, memory: Memory, place: int, taken: bool) -> User:
    """The user to build on: what the place holds, or nothing where it is replaced or empty."""
    user = memory.users.get(place, _EMPTY)
    if grammar.manners.place_holds == "one thing" and not user.empty:
        taken = True
    if taken and grammar.manners.used_place == "refused":
        raise Refused
    return _EMPTY if grammar.manners.place_holds == "one thing" else user


def _add_pin(grammar: Grammar, memory: Memory, values: Values) -> None:
    place, pin = _place(grammar, values), values["pin"]
    length = memory.settings.get("PIN length")
    if length is not None and len(pin) != int(length):
        raise Refused
    user = _room_for(grammar, memory, place, bool(memory.users.get(place, _EMPTY).pin))
    _clear_elsewhere(grammar, memory, place, memory.pins.get(pin), pin=pin)
    memory.put(place, msgspec.structs.replace(user, pin=pin))


def _add_card(grammar: Grammar, memory: Memory, values: Values) -> None:
    _put_card(grammar, memory, _place(grammar, values), values["card"])


def _put_card(grammar: Grammar, memory: Memory, place: int, card: str) -> None:
    held = memory.users.get(place, _EMPTY)
    full = len(held.cards) >= grammar.manners.most_cards
    user = _room_for(grammar, memory, place, full)
    _clear_elsewhere(grammar, memory, place, memory.cards.get(card), card=card)
    cards = (card,) if full else (*user.cards, card)
    memory.put(place, msgspec.structs.replace(user, cards=cards))


def _clear_elsewhere(
    grammar: Grammar,
    memory: Memory,
    place: int,
    other: int | None,
    pin: str = "",
    card: str = "",
) -> None:
    """A code that another place has is refused, or moves from there."""
    if other is None:
        return
    if other == place or grammar.manners.same_code == "refused":
        raise Refused
    user = memory.users[other]
    kept = tuple(c for c in user.cards if c != card)
    memory.put(
        other, msgspec.structs.replace(user, pin="" if user.pin == pin else user.pin, cards=kept)
    )


def _add_range(grammar: Grammar, memory: Memory, values: Values) -> None:
    first, count, card = _place(grammar, values), int(values["count"]), int(values["card"])
    last = _place(grammar, {"place": str(first + count - 1)}) if count else first - 1
    places = range(first, last + 1)
    if not count or any(p in memory.users for p in places):
        raise Refused
    if any(str(card + i) in memory.cards for i in range(count)):
        raise Refused
    for i, place in enumerate(places):
        _put_card(grammar, memory, place, str(card + i))


def _add_finger(grammar: Grammar, memory: Memory, values: Values) -> None:
    place = _place(grammar, values)
    user = _room_for(grammar, memory, place, memory.users.get(place, _EMPTY).finger)
    memory.put(place, msgspec.structs.replace(user, finger=True))


def _delete_place(grammar: Grammar, memory: Memory, values: Values) -> None:
    place = _place(grammar, values)
    if place not in memory.users and grammar.manners.empty_delete == "refused":
        raise Refused
    memory.put(place, _EMPTY)


def _delete_places(grammar: Grammar, memory: Memory, values: Values) -> None:
    first, last = _place(grammar, values), _place(grammar, values, "last place")
    if last < first:
        raise Refused
    for place in [p for p in memory.users if first <= p <= last]:
        memory.put(place, _EMPTY)


def _delete_card(grammar: Grammar, memory: Memory, values: Values) -> None:
    place = memory.cards.get(values["card"])
    if place is None:
        if grammar.manners.empty_delete == "refused":
            raise Refused
        return
    user = memory.users[place]
    kept = tuple(c for c in user.cards if c != values["card"])
    memory.put(place, msgspec.structs.replace(user, cards=kept))


def _delete_pin(grammar: Grammar, memory: Memory, values: Values) -> None:
    place = memory.pins.get(values["pin"])
    if place is None:
        if grammar.manners.empty_delete == "refused":
            raise Refused
        return
    memory.put(place, msgspec.structs.replace(memory.users[place], pin=""))


def _delete_all(_grammar: Grammar, memory: Memory, _values: Values) -> None:
    memory.users.clear()
    memory.pins.clear()
    memory.cards.clear()


def _own_pin(_grammar: Grammar, memory: Memory, values: Values) -> None:
    place, new = memory.pins.get(values["pin"]), values["new pin"]
    length = memory.settings.get("PIN length")
    wrong_length = length is not None and len(new) != int(length)
    off = memory.settings.get("own PIN") == "off"
    if place is None or new in memory.pins or wrong_length or off:
        raise Refused
    memory.put(place, msgspec.structs.replace(memory.users[place], pin=new))


def _set_user(
    name: str, turn: Callable[[str], object] = str
) -> Callable[[Grammar, Memory, Values], None]:
    def operation(grammar: Grammar, memory: Memory, values: Values) -> None:
        place = _place(grammar, values)
        key = {"date": "until"}.get(name, name)
        changed = {key: turn(values[name])}
        memory.put(place, msgspec.structs.replace(_held(memory, place), **changed))

    return operation


def _add_times(_grammar: Grammar, memory: Memory, values: Values) -> None:
    number = int(values["times"])
    first = DAYS.index(values["day"])
    last = DAYS.index(values.get("last day", values["day"]))
    start, end = minutes(values["from"]), minutes(values["to"])
    if number < 1 or last < first or start >= end:
        raise Refused
    spans = tuple((day, start, end) for day in range(first, last + 1))
    memory.times[number] = tuple(sorted({*memory.times.get(number, ()), *spans}))


def minutes(text: str) -> int:
    """Minutes of the day for HH:MM."""
    return int(text[:2]) * 60 + int(text[3:])


def _clear_times(_grammar: Grammar, memory: Memory, values: Values) -> None:
    memory.times.pop(int(values["times"]), None)


def _add_holiday(_grammar: Grammar, memory: Memory, values: Values) -> None:
    memory.holidays = tuple(sorted({*memory.holidays, values["date"]}))


def _clear_holidays(_grammar: Grammar, memory: Memory, _values: Values) -> None:
    memory.holidays = ()


def _set_clock(_grammar: Grammar, memory: Memory, values: Values) -> None:
    memory.clock = f"{values['clock date']}T{values['clock time']}"


def _reset(grammar: Grammar, memory: Memory, _values: Values) -> None:
    fresh = factory_content(grammar)
    if "users" not in grammar.reset_keeps:
        _delete_all(grammar, memory, {})
    if "settings" not in grammar.reset_keeps:
        memory.settings = dict(fresh.settings)
    if "codes" not in grammar.reset_keeps:
        memory.codes = dict(fresh.codes)
    if "times" not in grammar.reset_keeps:
        memory.times.clear()
    if "holidays" not in grammar.reset_keeps:
        memory.holidays = ()
    if "clock" not in grammar.reset_keeps:
        memory.clock = ""


_OPERATIONS: dict[str, Callable[[Grammar, Memory, Values], None]] = {
    "add PIN": _add_pin,
    "add card": _add_card,
    "add card range": _add_range,
    "add finger": _add_finger,
    "delete place": _delete_place,
    "delete places": _delete_places,
    "delete card": _delete_card,
    "delete PIN": _delete_pin,
    "delete all users": _delete_all,
    "change own PIN": _own_pin,
    "set relay": _set_user("relay"),
    "set times": _set_user("times", int),
    "set until": _set_user("date"),
    "set kind": _set_user("kind"),
    "add times": _add_times,
    "clear times": _clear_times,
    "add holiday": _add_holiday,
    "clear holidays": _clear_holidays,
    "set clock": _set_clock,
    "factory reset": _reset,
}


def perform(grammar: Grammar, memory: Memory, operations: tuple[str, ...], values: Values) -> None:
    """Does what a step means. Raises Refused, the memory as before, where the controller would."""
    before: User | None = None
    place = -1
    try:
        for operation in operations:
            if operation in _OPERATIONS:
                if place < 0 and "place" in values and len(operations) > 1:
                    place = int(values["place"])
                    before = memory.users.get(place)
                _OPERATIONS[operation](grammar, memory, values)
            elif operation.startswith("change "):
                kind = operation.removeprefix("change ")
                memory.codes[kind] = values[f"new {kind}"]
            elif operation.startswith("set "):
                _set(grammar, memory, operation.removeprefix("set "), values)
            elif operation == "open":
                if not (
                    values.get("pin", "-") in memory.pins or values.get("card", "-") in memory.cards
                ):
                    raise Refused
            else:
                memory.ran.append(operation.removeprefix("run "))
    except Refused:
        if place >= 0:
            memory.put(place, before or _EMPTY)
        raise


def _set(grammar: Grammar, memory: Memory, name: str, values: Values) -> None:
    value, spec = values[name], grammar.settings[name]
    if spec.most and not spec.least <= int(value) <= spec.most:
        raise Refused
    memory.settings[name] = value
