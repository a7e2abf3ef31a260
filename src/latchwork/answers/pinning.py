"""Pinning the figures of a job's parts, and telling what a newer catalogue would change."""

from __future__ import annotations

from latchwork.folder import locked, write_parts_lock
from latchwork.opening import Opened
from latchwork.parts import CableType, Difference, PartSpec, Pinned, differences, pin


def pin_job(opened: Opened) -> tuple[str, ...]:
    """Pin what is in use and not pinned yet; pinned figures stay. Returns the names now pinned.

    Raises OSError, and FolderBusy where another program is writing in the folder.
    """
    fresh = opened.unpinned
    if fresh:
        now = _in_use(opened)
        _write(opened, _merged(now, opened.pinned))
    return fresh


def changes(opened: Opened) -> tuple[Difference, ...]:
    """What the catalogue, with the user's own parts, has otherwise than what is pinned."""
    return differences(opened.pinned, opened.offered)


def update_job(opened: Opened) -> tuple[Difference, ...]:
    """Pin everything in use anew as the catalogue has it now. Returns what changed; raises as
    ``pin_job``."""
    changed = changes(opened)
    _write(opened, _in_use(opened))
    return changed


def _in_use(opened: Opened) -> Pinned:
    """The parts and cables of the job as the catalogue offers them now.

    What it has no longer stays as it was pinned.
    """
    plan = opened.wiring.plan
    known = set(opened.offered.names())
    kept = {spec.name: spec for spec in opened.pinned.parts}
    parts: dict[str, PartSpec] = {}
    for device in plan.devices.values():
        name = device.part.name
        parts[name] = opened.offered.get(name) if name in known else kept[name]
    cables: dict[str, CableType] = {}
    for cable in plan.cables.values():
        cables[cable.type.name] = opened.offered.cable(cable.type.name)
    return Pinned(tuple(parts.values()), cables)


def _merged(now: Pinned, kept: Pinned) -> Pinned:
    """``now`` with what was ``kept`` over it."""
    parts = {spec.name: spec for spec in (*now.parts, *kept.parts)}
    return Pinned(tuple(parts.values()), {**now.cables, **kept.cables})


def _write(opened: Opened, pinned: Pinned) -> None:
    with locked(opened.folder.path):
        write_parts_lock(opened.folder.path, pin(pinned.parts, pinned.cables.values()))
