"""Reading quantities as people write them: "about 20 m", "10 to 12 V", "18 AWG", "5 ft 6 in"."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence

from latchwork.quantities.awg import AWG_RANGE, awg_area_m2
from latchwork.quantities.certainty import Certainty
from latchwork.quantities.dimensions import AREA, DIMENSIONS, INCH_M, LENGTH, RESISTANCE, Dimension
from latchwork.quantities.quantity import Quantity, QuantityError

GUESS_SPREAD = 0.2
""""about 20 m" may be anything from 16 to 24 m (common practice, no source)."""

_LONGEST = 100
_LONGEST_PIECES = 12
_LEADS = {
    "measured": Certainty.MEASURED,
    "assumed": Certainty.ASSUMED,
    "guessed": Certainty.GUESSED,
    "about": Certainty.GUESSED,
    "around": Certainty.GUESSED,
    "roughly": Certainty.GUESSED,
    "approx.": Certainty.GUESSED,
    "approx": Certainty.GUESSED,
    "approximately": Certainty.GUESSED,
    "ca.": Certainty.GUESSED,
    "~": Certainty.GUESSED,
    "≈": Certainty.GUESSED,
}
_NUMBER = r"[+-]?(?:\d+[ ]+\d+/\d+|\d+/\d+|\d+(?:\.\d+)?|\.\d+)"
_UNIT = r"[^\d\s.,+±-][^±]*?"
_LEAD = re.compile(
    "(" + "|".join(re.escape(w) for w in sorted(_LEADS, key=len, reverse=True)) + r")(?![a-z])\s*",
    re.IGNORECASE,
)
_SINGLE = re.compile(rf"({_NUMBER})\s*({_UNIT})?", re.ASCII)
_RANGE = re.compile(
    rf"({_NUMBER})\s*({_UNIT})?\s*(?:\bto\b|-)\s*({_NUMBER})\s*({_UNIT})?", re.ASCII
)
_TOLERANCE = re.compile(rf"(.+?)\s*±\s*({_NUMBER})\s*({_UNIT})", re.ASCII)
_FEET_INCHES = re.compile(
    rf"(\d+)\s*(?:ft|feet|foot|['′’])\s*({_NUMBER})\s*(?:inches|inch|in|[\"″”])",
    re.IGNORECASE | re.ASCII,
)
_AWG = re.compile(r"(?:AWG\s*(\d+)|(\d+)\s*AWG)", re.IGNORECASE | re.ASCII)
_MULTIPLIER_CODE = re.compile(r"(\d+)([RkKM])(\d*)", re.ASCII)
_DECIMAL_COMMA = re.compile(r"(\d),(\d)", re.ASCII)
_MULTIPLIERS = {"R": 1.0, "k": 1e3, "K": 1e3, "M": 1e6}
_CLEAN = str.maketrans(
    {"\u00a0": " ", "\u2009": " ", "\u202f": " ", "\u2212": "-", "\u2013": "-", "\u2012": "-"}
)

_Converted = tuple[float, float, float]
_Reader = Callable[[str], "_Converted | None"]


def parse(text: str, dimension: Dimension) -> Quantity | None:
    """The quantity that ``text`` says, or None where it says "unknown".

    Takes a number with a unit, a range ("10 to 12 V": its middle is the value), a tolerance
    ("24 V ± 10 %"), a guess ("about 20 m", spread by ``GUESS_SPREAD``), and "measured" or
    "assumed" in front. Areas also as wire gauge, resistances also as a multiplier code ("2k2",
    IEC 60062; from memory), lengths also in feet and inches. Raises QuantityError.
    """
    cleaned = " ".join(text.translate(_CLEAN).replace("+/-", "±").split())
    if cleaned.casefold() == "unknown":
        return None
    if cleaned == "" or len(cleaned) > _LONGEST:
        raise QuantityError("quantity.not-a-number", text[:_LONGEST], _wanted(dimension))
    if _DECIMAL_COMMA.search(cleaned):
        with_point = _DECIMAL_COMMA.sub(r"\1.\2", cleaned)
        raise QuantityError(
            "quantity.decimal-comma",
            text,
            f"a decimal point, and no comma between thousands: {with_point}",
        )
    certainty, body = _certainty(cleaned)
    value, low, high = _spread(body, dimension, text)
    if certainty is Certainty.GUESSED and low == high:
        low, high = sorted((value * (1.0 - GUESS_SPREAD), value * (1.0 + GUESS_SPREAD)))
    if not all(math.isfinite(x) for x in (low, value, high)):
        raise QuantityError("quantity.too-large", text, _wanted(dimension))
    return Quantity(value, low, high, dimension.symbol, certainty, text)


def parse_any(text: str) -> Quantity | None:
    """As ``parse``, in whichever dimension the unit belongs to. Raises QuantityError."""
    wanted = "a number with its unit, such as 12 V"
    if not any(c.isdigit() for c in text) and text.strip().casefold() != "unknown":
        raise QuantityError("quantity.not-a-number", text, wanted)
    for dimension in DIMENSIONS:
        try:
            return parse(text, dimension)
        except QuantityError as error:
            if error.code == "quantity.no-unit":
                raise QuantityError(error.code, text, wanted) from None
            if error.code == "quantity.decimal-comma":
                # Only where a number with its unit is meant; other texts may hold such a comma.
                parse_any(_DECIMAL_COMMA.sub(r"\1.\2", text))
            if error.code not in ("quantity.wrong-unit", "quantity.not-a-number"):
                raise
    raise QuantityError("quantity.not-a-number", text, wanted)


def parse_pieces(text: str, *dimensions: Dimension) -> tuple[Quantity, ...]:
    """Several quantities in a row, in this order: "230 V 50 Hz", "12 V 7 Ah".

    Raises QuantityError where one is missing, unknown, or something is left over.
    """
    words = text.translate(_CLEAN).replace(", ", " ").split()
    found = _pieces(words, dimensions) if len(words) <= _LONGEST_PIECES else None
    if found is None:
        example = " ".join(d.example.split(" or ")[0] for d in dimensions)
        raise QuantityError("quantity.pieces", text, f"such as {example}")
    return found


def _pieces(words: list[str], dimensions: Sequence[Dimension]) -> tuple[Quantity, ...] | None:
    if not dimensions:
        return None if words else ()
    for count in range(1, len(words) + 1):
        rest = _pieces(words[count:], dimensions[1:])
        if rest is None:
            continue
        try:
            first = parse(" ".join(words[:count]), dimensions[0])
        except QuantityError:
            continue
        if first is not None:
            return (first, *rest)
    return None


def _certainty(text: str) -> tuple[Certainty, str]:
    match = _LEAD.match(text)
    if match is None:
        return Certainty.DATA_SHEET, text
    return _LEADS[match[1].casefold()], text[match.end() :]


def _spread(body: str, dimension: Dimension, text: str) -> _Converted:
    readers: tuple[_Reader, ...] = (
        lambda t: _special(t, dimension),
        lambda t: _range(t, dimension, text),
        lambda t: _tolerance(t, dimension, text),
        lambda t: _single(t, dimension, text),
    )
    for reader in readers:
        found = reader(body)
        if found is not None:
            return found
    raise QuantityError("quantity.not-a-number", text, _wanted(dimension))


def _special(body: str, dimension: Dimension) -> _Converted | None:
    """The ways of writing that belong to one dimension alone."""
    value: float | None = None
    if dimension is AREA and (match := _AWG.fullmatch(body)):
        gauge = int(match[1] or match[2])
        value = awg_area_m2(gauge) if gauge in AWG_RANGE else None
    elif dimension is RESISTANCE and (match := _MULTIPLIER_CODE.fullmatch(body)):
        value = float(f"{match[1]}.{match[3] or 0}") * _MULTIPLIERS[match[2]]
    elif dimension is LENGTH and (match := _FEET_INCHES.fullmatch(body)):
        value = (int(match[1]) * 12.0 + _number(match[2])) * INCH_M
    return None if value is None else (value, value, value)


def _range(body: str, dimension: Dimension, text: str) -> _Converted | None:
    match = _RANGE.fullmatch(body)
    if match is None:
        return None
    first, first_unit, last, last_unit = match.groups()
    low = _convert(first, first_unit or last_unit, dimension, text)
    high = _convert(last, last_unit, dimension, text)
    if low > high:
        raise QuantityError("quantity.range-order", text, "the smaller figure first")
    return low + (high - low) / 2.0, low, high


def _tolerance(body: str, dimension: Dimension, text: str) -> _Converted | None:
    match = _TOLERANCE.fullmatch(body)
    single = _SINGLE.fullmatch(match[1]) if match else None
    if match is None or single is None:
        return None
    value = _convert(single[1], single[2] or match[3], dimension, text)
    if match[3] == "%":
        spread = abs(value) * abs(_number(match[2])) / 100.0
    else:
        zero = _convert("0", match[3], dimension, text)
        spread = abs(_convert(match[2], match[3], dimension, text) - zero)
    return value, value - spread, value + spread


def _single(body: str, dimension: Dimension, text: str) -> _Converted | None:
    match = _SINGLE.fullmatch(body)
    if match is None:
        return None
    value = _convert(match[1], match[2], dimension, text)
    return value, value, value


def _convert(number: str, spelling: str | None, dimension: Dimension, text: str) -> float:
    if spelling is None:
        raise QuantityError("quantity.no-unit", text, _wanted(dimension))
    unit = dimension.unit(spelling.strip())
    if unit is None:
        raise QuantityError("quantity.wrong-unit", text, _wanted(dimension))
    return _number(number) * unit.factor + unit.offset


def _number(text: str) -> float:
    """A decimal, a fraction or a mixed fraction; infinity where there is no number to give."""
    sign = -1.0 if text.startswith("-") else 1.0
    whole, _, fraction = text.lstrip("+-").rpartition(" ")
    if "/" not in fraction:
        return sign * float(fraction)
    top, bottom = (int(part) for part in fraction.split("/"))
    if bottom == 0:
        return math.inf
    return sign * (float(whole or 0) + top / bottom)


def _wanted(dimension: Dimension) -> str:
    article = "an" if dimension.name[0] in "aeiou" else "a"
    return f"{article} {dimension.name} with its unit, such as {dimension.example}"
