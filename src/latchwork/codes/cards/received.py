"""What a reader or controller showed for a card, as people copy it down."""

from __future__ import annotations

import re
from dataclasses import dataclass

from latchwork.codes.cards.printing import LONGEST_TEXT, groups
from latchwork.codes.errors import CodesError

MOST_BITS = 256
_BITS = re.compile(r"^(\d{1,3})\s*(?:bits?)\s*[:,]?\s*(.+)$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Received:
    """A number and how many bits it had; ``bits`` None where only a number was shown."""

    value: int
    bits: int | None


def read_received(text: str) -> Received:
    """Takes "26 bits 0x05A6073", bits written out, "0x…", a decimal, or "210,53190" (8 + 16).

    Raises CodesError for anything else.
    """
    text = text.strip()
    wrong = CodesError(
        f"not a received number: {text[:40]!r}; expected something like "
        "26 bits 0x05A6073, the bits written out, 0x05A6073, 12345 or 45,12345"
    )
    if not text.isascii() or len(text) > MOST_BITS + LONGEST_TEXT:
        raise wrong
    bits = None
    if match := _BITS.match(text):
        bits, text = int(match[1]), match[2].strip()
        if not 1 <= bits <= MOST_BITS:
            raise wrong
    joined = re.sub(r"[\s_]", "", text)
    if re.fullmatch(r"(0b)?[01]{16,}", joined):
        digits = joined.removeprefix("0b")
        value, bits = int(digits, 2), bits or len(digits)
    elif re.fullmatch(r"0[xX][0-9a-fA-F]+|[0-9a-fA-F]*[a-fA-F][0-9a-fA-F]*", joined):
        value = int(joined, 16)
    elif re.fullmatch(r"[0-9a-fA-F]{2}([: -][0-9a-fA-F]{2}){2,}", text):
        whole = re.sub(r"[: -]", "", text)
        value, bits = int(whole, 16), bits or 4 * len(whole)
    else:
        parts = groups(text)
        if len(parts) == 1:
            value = parts[0]
        elif len(parts) == 2 and parts[0] < 256 and parts[1] < 65536:
            value, bits = parts[0] << 16 | parts[1], bits or 24
        else:
            raise wrong
    if value >> (bits or MOST_BITS):
        raise wrong
    return Received(value, bits)
