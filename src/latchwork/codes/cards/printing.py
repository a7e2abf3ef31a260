"""How one number is printed on cards and shown by readers, both ways.

A printing takes the low ``bits`` of a number, perhaps turns bytes or bits round, and writes them.
Every turn undoes itself, so that reading is writing backwards. The names are common practice, no
source.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from latchwork.codes.errors import CodesError

_NIBBLES = tuple(int(f"{n:04b}"[::-1], 2) for n in range(16))
_BYTES = tuple(int(f"{n:08b}"[::-1], 2) for n in range(256))


def _each_byte(value: int, bits: int, turn: Callable[[int], int]) -> int:
    data = value.to_bytes(bits // 8, "big")
    return int.from_bytes(bytes(turn(b) for b in data), "big")


def turn_round(value: int, bits: int, turn: str) -> int:
    """One of the turns of ``TURNS`` over ``bits`` (a multiple of 8), or nothing for ""."""
    if turn == "bytes reversed":
        return int.from_bytes(value.to_bytes(bits // 8, "little"), "big")
    if turn == "nibbles bit-reversed":
        return _each_byte(value, bits, lambda b: _NIBBLES[b >> 4] << 4 | _NIBBLES[b & 15])
    if turn == "bytes bit-reversed":
        return _each_byte(value, bits, lambda b: _BYTES[b])
    return value


TURNS = ("", "bytes reversed", "nibbles bit-reversed", "bytes bit-reversed")


@dataclass(frozen=True, slots=True)
class Printing:
    """One convention. ``form``: decimal, hex, or the widths of comma-separated groups ("8+16").

    ``digits`` pads decimals with zeros; 0 leaves them as they are.
    """

    name: str
    bits: int
    form: str
    digits: int = 0
    turn: str = ""


PRINTINGS = (
    Printing("10 digits", 32, "decimal", 10),
    Printing("13 digits", 40, "decimal", 13),
    Printing("8 digits", 24, "decimal", 8),
    Printing("8 + 16", 24, "8+16"),
    Printing("16 + 16", 32, "16+16"),
    Printing("10 digits, bytes reversed", 32, "decimal", 10, "bytes reversed"),
    Printing("17 digits", 56, "decimal", 17),
    Printing("17 digits, bytes reversed", 56, "decimal", 17, "bytes reversed"),
    Printing("hex, 3 bytes", 24, "hex"),
    Printing("hex, 4 bytes", 32, "hex"),
    Printing("hex, 5 bytes", 40, "hex"),
    Printing("hex, 7 bytes", 56, "hex"),
    Printing("hex, 4 bytes reversed", 32, "hex", 0, "bytes reversed"),
    Printing("hex, 7 bytes reversed", 56, "hex", 0, "bytes reversed"),
    Printing("hex, nibbles bit-reversed", 40, "hex", 0, "nibbles bit-reversed"),
    Printing("hex, bytes bit-reversed", 40, "hex", 0, "bytes bit-reversed"),
)
_SPLIT = re.compile(r"[\s,;/:.-]+")
LONGEST_TEXT = 80


def show(printing: Printing, value: int) -> str:
    """A number as this convention prints it; bits above ``printing.bits`` are not printed."""
    if value < 0:
        raise CodesError("a card's number is not negative")
    low = turn_round(value & ((1 << printing.bits) - 1), printing.bits, printing.turn)
    if printing.form == "hex":
        return f"{low:0{printing.bits // 4}X}"
    if printing.form == "decimal":
        return f"{low:0{printing.digits}d}"
    first, second = map(int, printing.form.split("+"))
    widths = (len(str((1 << first) - 1)), len(str((1 << second) - 1)))
    return f"{low >> second:0{widths[0]}d},{low & ((1 << second) - 1):0{widths[1]}d}"


def read(printing: Printing, text: str) -> int:
    """The low ``printing.bits`` of the number that was printed as ``text``.

    Raises CodesError where the text is not of this convention.
    """
    low = _parse(printing, text)
    if low is None or low >= 1 << printing.bits:
        raise CodesError(f"not a number printed as {printing.name}")
    return turn_round(low, printing.bits, printing.turn)


def _parse(printing: Printing, text: str) -> int | None:
    if len(text) > LONGEST_TEXT or not text.isascii():
        return None
    parts = [p for p in _SPLIT.split(text.strip()) if p]
    if printing.form == "hex":
        whole = "".join(parts).lower().removeprefix("0x")
        hexadecimal = re.fullmatch(r"[0-9a-f]+", whole) is not None
        return int(whole, 16) if hexadecimal and len(whole) == printing.bits // 4 else None
    if not all(p.isdecimal() for p in parts):
        return None
    if printing.form == "decimal":
        if len(parts) != 1 or len(parts[0]) > printing.digits:
            return None
        # Some printers leave the zeros in front away; none leaves only some of them away.
        padded = len(parts[0]) == printing.digits or not parts[0].startswith("0")
        return int(parts[0]) if padded else None
    if len(parts) != 2:
        return None
    first, second = map(int, printing.form.split("+"))
    high, low = int(parts[0]), int(parts[1])
    return high << second | low if high < 1 << first and low < 1 << second else None


def readings(text: str) -> list[tuple[Printing, int]]:
    """Every convention that a printed text could be of, with the number it would mean."""
    found = []
    for printing in PRINTINGS:
        try:
            found.append((printing, read(printing, text)))
        except CodesError:
            continue
    return found


def groups(text: str) -> tuple[int, ...]:
    """The decimal numbers of a text, in order; none where it holds anything else."""
    if len(text) > LONGEST_TEXT or not text.isascii():
        return ()
    parts = [p for p in _SPLIT.split(text.strip()) if p]
    return tuple(int(p) for p in parts) if all(p.isdecimal() for p in parts) else ()
