"""The catalogue of words: YAML by language ("en.yaml", "en.command.yaml"), filled in with figures.

A figure's name ends in its unit ("volts_v", "current_a", "length_m"), and is shown in the
reader's units. A text that is missing is an error of ours and raises KeyError.

A text with a count may have another for one: "done" and "done (one)".
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from importlib import resources

import yaml

from latchwork.quantities import System, show

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


def _shown(name: str, value: float | str, system: System) -> str:
    if isinstance(value, str):
        return value
    if name.endswith("_h"):
        return f"{value:.1f} h"
    for ending, unit in _UNITS.items():
        if name.endswith(ending):
            return show(value, unit, system)
    return f"{value:.4g}"


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
    shown = {n: _shown(n, v, system) for n, v in (parameters or {}).items()}
    texts = _texts(language)
    one = texts.get(f"{key} (one)") if shown.get("count") == "1" else None
    return (texts[key] if one is None else one).format_map(shown)


def sources(language: str = "en") -> tuple[str, ...]:
    """The codes of all sources that findings may name."""
    return tuple(k.removeprefix("source.") for k in _texts(language) if k.startswith("source."))
