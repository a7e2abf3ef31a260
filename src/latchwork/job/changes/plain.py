"""Changes as plain data, to be written down and read again."""

from __future__ import annotations

from collections.abc import Mapping

from latchwork.job.changes.change import Add, Change, Remove, Set


def as_plain(change: Change) -> dict[str, object]:
    """A Change as plain data."""
    match change:
        case Set(path, old, new):
            return {"set": path, "old": old, "new": new}
        case Add(path, after, text, flow, gap):
            return {"add": path, "after": after, "text": text, "flow": flow, "gap": gap}
        case Remove(path, after, text, flow, gap):
            return {"remove": path, "after": after, "text": text, "flow": flow, "gap": gap}


def from_plain(data: Mapping[str, object]) -> Change:
    """The Change that ``as_plain`` made this of. Raises ValueError for anything else."""
    match data:
        case {"set": str(path), "old": str(old), "new": str(new)}:
            return Set(path, old, new)
        case {
            "add": str(path),
            "after": None | str() as after,
            "text": str(text),
            "flow": bool(flow),
            "gap": int(gap),
        }:
            return Add(path, after, text, flow, gap)
        case {
            "remove": str(path),
            "after": None | str() as after,
            "text": str(text),
            "flow": bool(flow),
            "gap": int(gap),
        }:
            return Remove(path, after, text, flow, gap)
    raise ValueError("no change")
