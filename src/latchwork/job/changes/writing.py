"""Values written as YAML, in braces or in lines of their own."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from latchwork.tree.nodes import Entries, Node, Scalar
from latchwork.tree.read import read_tree

WIDEST = 100
"""A table in braces that would make a line longer than this is written in lines."""


@dataclass(frozen=True, slots=True)
class Source:
    """YAML that somebody wrote: taken over as it is."""

    text: str


@dataclass(frozen=True, slots=True)
class Lines:
    """A table or list to be written in lines of its own, not in braces."""

    value: Mapping[str, Value] | Sequence[Value]


Value = str | Source | Lines | Mapping[str, "Value"] | Sequence["Value"]
"""A text, a table or a list, as it shall read."""


def as_typed(text: str) -> Value:
    """What somebody typed on a command line: YAML where it starts with a brace or bracket."""
    text = text.strip()
    return Source(text) if text[:1] in ("{", "[") else text


def inline(value: Value, flow: bool = False) -> str:
    """A value on one line; ``flow``: within braces or brackets."""
    match value:
        case str():
            return _scalar(value, flow)
        case Source():
            return value.text
        case Lines():
            return inline(value.value, flow)
        case Mapping():
            parts = (f"{inline(k, True)}: {inline(v, True)}" for k, v in value.items())
            return "{" + ", ".join(parts) + "}"
        case _:
            return "[" + ", ".join(inline(v, True) for v in value) + "]"


def behind(value: Value, head: int, indent: str, step: str, nl: str) -> str:
    """What stands behind a key's colon or an item's hyphen: a space and the value, or its lines
    one ``step`` further in than ``indent``. ``head``: how wide the line is before it."""
    if isinstance(value, Mapping) and head + len(inline(value)) > WIDEST:
        value = Lines(value)
    if not isinstance(value, Lines):
        return f" {inline(value)}"
    deeper = indent + step
    if isinstance(value.value, Mapping):
        rows = [entry(k, v, deeper, step, nl) for k, v in value.value.items()]
    else:
        rows = [f"{deeper}-{behind(v, len(deeper) + 1, deeper, step, nl)}" for v in value.value]
    return nl + nl.join(rows)


def entry(key: str, value: Value, indent: str, step: str, nl: str) -> str:
    """A key and its value as lines, without the last line's break."""
    head = f"{indent}{inline(key)}:"
    return head + behind(value, len(head), indent, step, nl)


@lru_cache(maxsize=4096)
def _scalar(text: str, flow: bool) -> str:
    """A text plain where it then reads as itself, else in quotes."""
    trial = f"k: {{k: {text}, l: m}}\n" if flow else f"k: {text}\n"
    root, problems = read_tree(trial, "")
    node: Node | None = root.get("k") if root is not None and not problems else None
    if flow and isinstance(node, Entries):
        node = node.get("k") if node.get("l") is not None and len(node.pairs) == 2 else None
    if isinstance(node, Scalar) and node.plain and node.text == text and text:
        return text
    return json.dumps(text, ensure_ascii=False)
