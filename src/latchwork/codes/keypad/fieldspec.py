"""Reading what is keyed for a field, and turning values into keys and back."""

from __future__ import annotations

import datetime as dt

from latchwork.codes.keypad import vocabulary as voc
from latchwork.codes.keypad.grammar import DIGITS, FieldSpec
from latchwork.codes.yamlfile import Node, Reader
from latchwork.job import one_of

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_INPUTS = ("card", "finger")
_DATES = {"DDMMYY": "%d%m%y", "MMDDYY": "%m%d%y", "YYMMDD": "%y%m%d", "DDMM": "%d%m"}
_DATES |= {"DDMMYYYY": "%d%m%Y", "YYYYMMDD": "%Y%m%d", "MMDDYYYY": "%m%d%Y"}
_CENTURY = 2000
_TEXTS = frozenset({"pin", "new pin", *voc.CODES, *(f"new {c}" for c in voc.CODES)})
_DATE_FIELDS = ("date", "clock date")
_TIME_FIELDS = ("from", "to", "clock time")


def base_name(name: str) -> str:
    """The field that ``… again`` repeats."""
    return name.removesuffix(" again")


def _choices_of(name: str) -> tuple[str, ...]:
    if name in voc.SETTINGS:
        return voc.SETTINGS[name].choices
    fixed = {"kind": voc.KINDS, "relay": voc.RELAYS, "day": DAYS, "last day": DAYS}
    return fixed.get(name, ())


def read_field(reader: Reader, name: str, node: Node, keys: tuple[str, ...]) -> FieldSpec:
    """One entry of ``fields``: {digits: 3}, {digits: 4 to 8}, {choices: {…}}, {input: card}."""
    where = f"fields.{name}"
    found = reader.map(node, where)
    reader.known(found, where, ("digits", "choices", "input", "as", "shown"))
    base = base_name(name)
    if base not in voc.FIELDS:
        reader.wrong(node, where, name[:40], one_of(base, voc.FIELDS))
    kinds = [k for k in ("digits", "choices", "input") if k in found]
    if len(kinds) != 1:
        reader.wrong(node, where, ", ".join(kinds) or "nothing", "one of digits, choices and input")
        return FieldSpec(name, "text")
    shown = reader.text(found.get("shown"), where, "no") == "yes"
    if kinds == ["input"]:
        given = reader.text(found["input"], f"{where}.input")
        if given not in _INPUTS:
            reader.wrong(node, f"{where}.input", given[:20], " or ".join(_INPUTS))
        return FieldSpec(name, "input", pattern=given, shown=shown)
    if kinds == ["choices"]:
        return _choice(reader, name, found["choices"], where, keys, shown)
    least, most = _lengths(reader, found["digits"], where)
    pattern = reader.text(found.get("as"), f"{where}.as")
    if base in _DATE_FIELDS:
        if pattern not in _DATES or not least == most == len(pattern):
            reader.wrong(node, where, pattern or "no pattern", "as: one of " + ", ".join(_DATES))
        return FieldSpec(name, "date", least, most, pattern, shown=shown)
    if base in _TIME_FIELDS:
        if (least, most) != (4, 4):
            reader.wrong(node, where, f"{least} to {most} digits", "digits: 4 (HHMM)")
        return FieldSpec(name, "time", 4, 4, "HHMM", shown=shown)
    if _choices_of(base):
        reader.wrong(node, where, "digits", "choices for " + ", ".join(_choices_of(base)))
    form = "text" if base in _TEXTS else "number"
    if not set(DIGITS) & set(keys):
        reader.wrong(node, where, "digits", "digits among the keys")
    return FieldSpec(name, form, least, most, shown=shown)


def _lengths(reader: Reader, node: Node, where: str) -> tuple[int, int]:
    ends = reader.text(node, where).split(" to ")
    if len(ends) <= 2 and all(e.isascii() and e.isdecimal() and len(e) < 3 for e in ends):
        least, most = int(ends[0]), int(ends[-1])
        if 1 <= least <= most <= 24:
            return least, most
    reader.wrong(node, where, str(node.value)[:20], "a number of digits: 3, or 4 to 8")
    return 1, 1


def _choice(
    reader: Reader, name: str, node: Node, where: str, keys: tuple[str, ...], shown: bool
) -> FieldSpec:
    found = reader.map(node, f"{where}.choices")
    allowed = _choices_of(base_name(name))
    choices: dict[str, str] = {}
    for key, value in found.items():
        text = reader.text(value, f"{where}.choices.{key}")
        if key not in keys:
            reader.wrong(value, f"{where}.choices", key[:20], "one of " + " ".join(keys))
        if allowed and text not in allowed:
            reader.wrong(value, f"{where}.choices.{key}", text[:40], "one of " + ", ".join(allowed))
        if text in choices.values():
            reader.wrong(value, f"{where}.choices.{key}", f"{text[:40]} twice", "each value once")
        choices[key] = text
    return FieldSpec(name, "choice", choices=choices, alphabet=frozenset(choices), shown=shown)


def to_keys(spec: FieldSpec, value: str) -> tuple[str, ...] | None:
    """The keys for a value; None where the field cannot say it."""
    if spec.form == "choice":
        return next(((k,) for k, v in spec.choices.items() if v == value), None)
    if spec.form == "date":
        # MM-DD: a day as it is kept without a year; in 2004 every day there is can be said.
        day = dt.date.fromisoformat(value if value.count("-") == 2 else f"2004-{value}")
        text = day.strftime(_DATES[spec.pattern])
        return tuple(text) if _date(spec, text) in (value, value[5:]) else None
    if spec.form == "time":
        return tuple(value.replace(":", ""))
    if spec.form == "number":
        value = value.zfill(spec.least)
    if not spec.least <= len(value) <= spec.most or not value.isdecimal():
        return None
    return tuple(value)


def kept_day(spec: FieldSpec, day: dt.date) -> str:
    """What a controller keeps of a day: YYYY-MM-DD, or MM-DD where it is told no year; "" where it
    cannot be told the day."""
    keys = to_keys(spec, day.isoformat())
    return "" if keys is None else _date(spec, "".join(keys)) or ""


def from_keys(spec: FieldSpec, keyed: str) -> str | None:
    """The value that was keyed; None where it is none (the 31st of June, 25 o'clock)."""
    if spec.form == "choice":
        return spec.choices.get(keyed)
    if spec.form == "date":
        return _date(spec, keyed)
    if spec.form == "time":
        hour, minute = int(keyed[:2]), int(keyed[2:])
        good = (hour < 24 and minute < 60) or (hour, minute) == (24, 0)
        return f"{keyed[:2]}:{keyed[2:]}" if good else None
    if spec.form == "number":
        return str(int(keyed))
    return keyed


def _date(spec: FieldSpec, keyed: str) -> str | None:
    """YYYY-MM-DD, years of two digits in this century; MM-DD where the pattern has no year."""
    at = {letter: spec.pattern.find(letter) for letter in "DMY"}
    day, month = int(keyed[at["D"] : at["D"] + 2]), int(keyed[at["M"] : at["M"] + 2])
    width = spec.pattern.count("Y")
    year = int(keyed[at["Y"] : at["Y"] + width]) if width else 4
    year += _CENTURY if width < 4 else 0
    try:
        found = dt.date(year, month, day).isoformat()
    except ValueError:
        return None
    return found if width else found[5:]
