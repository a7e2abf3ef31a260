"""Names as people write them: case, spaces, hyphens and the order of words do not matter."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable

_SAME = {"maglock": "magnet", "psu": "supply", "strikes": "strike", "volt": "v", "volts": "v"}
_UNITS = ("v", "a", "ah", "kg", "w", "ma")
_TOKEN = re.compile(r"\d+(?:[./]\d+)*|[^\W\d_]+")


def key(name: str) -> tuple[str, ...]:
    """What two spellings of one name have in common.

    "12V strike failsecure" and "strike 12 V, fail-secure" have the same key.
    """
    tokens: list[str] = []
    for token in _TOKEN.findall(name.casefold().replace("fail-", "fail ")):
        word = _SAME.get(token, token)
        last = tokens[-1] if tokens else ""
        if (word in _UNITS and last[:1].isdigit()) or last == "fail":
            tokens[-1] = last + word
        else:
            tokens.append(word)
    return tuple(sorted(tokens))


def nearest(written: str, known: Iterable[str]) -> tuple[str, ...]:
    """The names closest to what was written, best first; empty where nothing is near. Those that
    hold all its words, as "maglock" has no volts yet, go before those that only look like it."""
    import difflib

    known, words = list(known), Counter(key(written))
    fuller = [name for name in known if words and words <= Counter(key(name))]
    if fuller:
        return tuple(sorted(fuller, key=lambda name: len(key(name)))[:3])
    return tuple(difflib.get_close_matches(written.casefold(), known, 3, 0.6))
