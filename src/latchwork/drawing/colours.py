"""Colours of cores: letters of IEC 60757, and what each is painted in."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

LETTERS = {
    "black": "BK",
    "brown": "BN",
    "red": "RD",
    "orange": "OG",
    "yellow": "YE",
    "green": "GN",
    "blue": "BU",
    "violet": "VT",
    "grey": "GY",
    "white": "WH",
    "pink": "PK",
    "gold": "GD",
    "turquoise": "TQ",
    "silver": "SR",
}
"""IEC 60757, table 1; from memory. Tan is not among them and keeps its name."""

_ALSO = {"gray": "grey", "purple": "violet", "slate": "grey"}

PAINT = {
    "black": "#1c1c1e",
    "brown": "#7b4a24",
    "red": "#cf2a2a",
    "orange": "#ee7f14",
    "yellow": "#f4cb1d",
    "green": "#268a41",
    "blue": "#2560c4",
    "violet": "#7a3fa6",
    "grey": "#8c9196",
    "white": "#ffffff",
    "pink": "#f3a2ba",
    "gold": "#b8922e",
    "turquoise": "#1fa9a6",
    "silver": "#b9bfc5",
    "tan": "#cfae86",
}

LIGHT = frozenset({"yellow", "white", "pink", "silver", "tan", "orange", "turquoise", "gold"})
"""Drawn with a dark casing on light ground."""

DARK = frozenset({"black", "brown", "blue", "violet"})
"""Drawn with a light casing on dark ground."""


@dataclass(frozen=True, slots=True)
class CoreColour:
    """``names``: one or two colours, none where the words name no colour."""

    names: tuple[str, ...]
    letters: str


@lru_cache(maxsize=512)
def core_colour(words: str) -> CoreColour:
    """The colour of a core from the cable's own words: "brown", "blue-white", "green-yellow".

    In pairs of category cable "blue-white" is the white core marked blue: WH/BU. Green and yellow
    together is the protective core, GNYE. "Unknown" words get no letters and are painted as ink.
    """
    names = tuple(_ALSO.get(w, w) for w in words.lower().replace("/", "-").split("-"))
    if not 1 <= len(names) <= 2 or any(name not in PAINT for name in names):
        return CoreColour((), "")
    if set(names) == {"green", "yellow"}:
        return CoreColour(("green", "yellow"), "GNYE")
    if len(names) == 2 and names[1] == "white":
        names = ("white", names[0])
    letters = [LETTERS.get(name, "") for name in names]
    return CoreColour(names, "/".join(letters) if all(letters) else "")
