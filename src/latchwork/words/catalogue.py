"""The catalogue of words: YAML by language ("en.yaml", "en.command.yaml"), filled in with figures.

A figure's name ends in its unit ("volts_v", "current_a", "length_m"), and is shown in the
reader's units; "height_near_m" is a length about a door, not a cable's. A text that is missing is
an error of ours and raises KeyError.

A text with a count may have another for one: "done" and "done (one)".
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from importlib import resources
from itertools import combinations
from math import isclose

import yaml

from latchwork.quantities import System, show, show_near

_UNITS = {
    "_v": "V",
    "_a": "A",
    "_ohm": "Ω",
    "_share": "1",
    "_m": "m",
    "_s": "s",
    "_w": "W",
    "_va": "VA",
    "_ah": "Ah",
    "_c": "°C",
    "_n": "N",
}

SAME = 1e-6
"""Figures this near are the same."""
MOST_MORE = 3
"""Decimals beyond the usual that tell two figures apart."""


@lru_cache(maxsize=8)
def _texts(language: str) -> Mapping[str, str]:
    folder = resources.files("latchwork.words") / "data"
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    flat: dict[str, str] = {}

    def walk(node: object, path: str) -> None:
        if isinstance(node, dict):
            for key, value in node.items():
                walk(value, f"{path}.{key}" if path else str(key))
        elif path in flat:
            raise ValueError(f"two texts for {path}")
        else:
            flat[path] = str(node).strip()

    for file in sorted(folder.iterdir(), key=lambda each: each.name):
        if file.name.startswith(f"{language}."):
            walk(yaml.load(file.read_text(encoding="utf-8"), Loader=loader), "")
    return flat


def _shown(name: str, value: float | str, system: System, more: int = 0) -> str:
    if isinstance(value, str):
        return value
    if name.endswith("_h"):
        return f"{value:.1f} h"
    if name.endswith("_near_m"):
        return show_near(value, system, more)
    for ending, unit in _UNITS.items():
        if name.endswith(ending):
            return show(value, unit, system, more)
    return f"{value:.4g}"


def _all_shown(given: Mapping[str, float | str], system: System) -> dict[str, str]:
    """Every figure as shown; those that would read alike and are not, with as many decimals as
    tell them apart."""
    shown = {n: _shown(n, v, system) for n, v in given.items()}
    figures = [(n, v) for n, v in given.items() if not isinstance(v, str)]
    for (a, at_a), (b, at_b) in combinations(figures, 2):
        if shown[a] != shown[b] or isclose(at_a, at_b, rel_tol=SAME):
            continue
        for more in range(1, MOST_MORE + 1):
            told = _shown(a, at_a, system, more), _shown(b, at_b, system, more)
            if told[0] != told[1]:
                shown[a], shown[b] = told
                break
    return shown


def has(key: str, language: str = "en") -> bool:
    """Whether there is a text for ``key``."""
    return key in _texts(language)


def say(
    key: str,
    parameters: Mapping[str, float | str] | None = None,
    language: str = "en",
    system: System = System.METRIC,
) -> str:
    """The text for ``key`` with its figures filled in."""
    shown = _all_shown(parameters or {}, system)
    texts = _texts(language)
    one = texts.get(f"{key} (one)") if shown.get("count") == "1" else None
    return (texts[key] if one is None else one).format_map(shown)


def sources(language: str = "en") -> tuple[str, ...]:
    """The codes of all sources that findings may name."""
    return tuple(k.removeprefix("source.") for k in _texts(language) if k.startswith("source."))
