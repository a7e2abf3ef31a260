"""What a lock is switched by: the contacts between it and its supply."""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Iterable

from latchwork.drawing.index import Index, Sort, contacts, ends
from latchwork.drawing.subject import SOURCES, Subject
from latchwork.parts import moved_at_rest

FOR_AN_EMERGENCY = frozenset({"fire relay", "release"})
"""Kinds whose contacts nobody moves in daily use."""
LOCKS = frozenset({"strike", "magnet", "bolt", "motor"})

Passed = tuple[tuple[str, str], ...]
"""Contacts on the way, as (device id, its terminal that is not the common)."""


def ways(index: Index, subject: Subject, lock: str) -> Iterable[tuple[str, Passed]]:
    """What switches a lock: "fed", "returned" or "worked", and the contacts from the lock on.

    The ways with the fewest contacts from its plus and from its minus to a supply; of a motor
    lock, from its input back to its minus. Those of daily use come before those by a contact that
    closes in an emergency alone. Ways without a contact are left out.
    """
    part = index.plan.devices[lock].part
    if part.has_terminal("IN"):
        starts = [("worked", "IN", frozenset({f"{lock}.-"}))]
    else:
        plus, minus = ("A1", "A2") if part.has_terminal("A1") else ("+", "-")
        sources = frozenset(n for n, d in index.plan.devices.items() if d.part.kind in SOURCES)
        starts = [("fed", plus, sources), ("returned", minus, sources)]
    for code, terminal, goals in starts:
        start = f"{lock}.{terminal}"
        passed = _way(index, subject, start, goals, daily=True)
        if passed is None:
            passed = _way(index, subject, start, goals, daily=False)
        if passed:
            yield code, passed


def _way(
    index: Index, subject: Subject, start: str, goals: Collection[str], *, daily: bool
) -> Passed | None:
    """Breadth first, contacts counted, wires free; of a changeover by one throw alone, as never
    both are closed. ``goals``: nodes, or devices to arrive at."""
    near: dict[str, list[str]] = {}
    for wire in subject.wires:
        a, b = ends(wire)
        near.setdefault(a, []).append(b)
        near.setdefault(b, []).append(a)
    through = _through(index, subject, daily=daily)
    seen = {start}
    queue: deque[tuple[str, Passed]] = deque([(start, ())])
    while queue:
        node, passed = queue.popleft()
        owner = index.owners.get(node)
        if node in goals or (owner is not None and owner.id in goals):
            return passed
        for far in near.get(node, ()):
            if far not in seen:
                seen.add(far)
                queue.appendleft((far, passed))
        for far, contact in through.get(node, ()):
            if far not in seen and not any(_other_throw(contact, each) for each in passed):
                seen.add(far)
                queue.append((far, (*passed, contact)))
    return None


def _other_throw(one: tuple[str, str], other: tuple[str, str]) -> bool:
    """Whether two contacts, named as they are passed, are the throws of one changeover: NO2 and
    NC2."""
    throws = {one[1][:2], other[1][:2]} == {"NO", "NC"}
    return throws and one[0] == other[0] and one[1][2:] == other[1][2:]


def _through(
    index: Index, subject: Subject, *, daily: bool
) -> dict[str, list[tuple[str, tuple[str, str]]]]:
    """Where contacts lead: node -> (node beyond, (device, terminal))."""
    found: dict[str, list[tuple[str, tuple[str, str]]]] = {}
    for thing in subject.things:
        if thing.owner.sort is not Sort.DEVICE:
            continue
        device = index.plan.devices[thing.owner.id]
        if device.part.kind in SOURCES:
            continue
        for contact in contacts(device.part):
            moved = (contact.at_rest == "open") is not moved_at_rest(device.part)
            if daily and moved and device.part.kind in FOR_AN_EMERGENCY:
                continue
            a, b = (f"{device.id}.{terminal}" for terminal in (contact.a, contact.b))
            named = contact.a if contact.b.startswith("COM") else contact.b
            found.setdefault(a, []).append((b, (device.id, named)))
            found.setdefault(b, []).append((a, (device.id, named)))
    return found
