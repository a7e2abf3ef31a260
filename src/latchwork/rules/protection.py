"""Whether what opens or limits ahead of a cable does so before the cable is hurt."""

from __future__ import annotations

from collections.abc import Iterator

from latchwork.behaviour import Group
from latchwork.elements import Fuse
from latchwork.findings import Finding, Severity
from latchwork.power.nets import Contacts, Nets
from latchwork.rules.rule import Rule
from latchwork.rules.view import View
from latchwork.wiring import Conductor

Ahead = tuple[float, str]
"""Amperes that may flow for long, and what holds them there."""

CLASS_2_A, CLASS_2_V, CLASS_2_VA = 5.0, 20.0, 100.0
"""A class 2 source: 5 A up to 20 V, 100 VA above (NEC chapter 9 table 11(A), from memory)."""


def class_2_a(volts: float) -> float:
    """Amperes up to which no size of cores is asked at ``volts``."""
    return CLASS_2_A if volts <= CLASS_2_V else CLASS_2_VA / volts


def fuse_over_cable(view: View) -> Iterator[Finding]:
    """A fuse, or a supply's limit where there is no fuse, above what the cores behind it carry.

    Counted is what a supply gives on mains; a battery's own fuse is not held against the cores.
    Every core that copper and contacts join to the feed counts, whatever it serves. What a
    controller feeds its reader from its own terminals is taken as held by the controller (common
    practice, no source).
    """
    told: set[str] = set()
    for group in view.site.groups:
        nets = Nets(view.plan, group, Contacts.ALL, fuses=False)
        ahead = _ahead(view, group, nets)
        limits = _carry(view, group)
        for core in _cores(view, group):
            if core.cable in told:
                continue
            key = core.cable, view.node(core.start), view.node(core.end)
            over = [
                (amps, by, volts)
                for (amps, by), node, volts in ahead
                if nets.joined(node, key[1]) and amps > limits[key]
            ]
            if not over:
                continue
            amps, by, volts = max(over)
            if amps > class_2_a(volts):
                told.add(core.cable)
                figures: dict[str, float | str] = {"core_a": limits[key], "fed_a": amps, "by": by}
                yield Finding("fuse-over-cable", core.cable, Severity.WEAK, "", figures, "class-2")


def _cores(view: View, group: Group) -> Iterator[Conductor]:
    """The cores of a group's doors, and those of the site's own cables."""

    def by_door() -> dict[str, list[Conductor]]:
        found: dict[str, list[Conductor]] = {}
        for core in view.site.wiring.conductors:
            found.setdefault(core.door, []).append(core)
        return found

    cores = view.kept("cores by door", by_door)
    for door in (*group.doors, ""):
        yield from cores.get(door, ())


def _carry(view: View, group: Group) -> dict[tuple[str, str, str], float]:
    """What the cores of a cable between two nodes carry together."""
    found: dict[tuple[str, str, str], float] = {}
    for core in _cores(view, group):
        key = core.cable, view.node(core.start), view.node(core.end)
        found[key] = found.get(key, 0.0) + view.plan.cables[core.cable].type.limit_a
    return found


def _ahead(view: View, group: Group, nets: Nets) -> list[tuple[Ahead, str, float]]:
    """Each node that a supply feeds, with what lies ahead of it and the supply's volts."""
    found: list[tuple[Ahead, str, float]] = []
    for name in group.supplies:
        supply = view.plan.supplies.get(name)
        part = view.part(name)
        limit, volts = part.figures.get("limit_a"), part.figures.get("nominal_v")
        if supply is None or limit is None or volts is None:
            continue
        fuses = {e.name: e for e in part.elements if isinstance(e, Fuse)}
        for output in supply.outputs:
            fuse = fuses.get(f"fuse {output}")
            own = (limit.value, f"the limit of {name}")
            if fuse is not None and fuse.rating_a < limit.value:
                own = (fuse.rating_a, f"{name}.{fuse.name}")
            found.append((own, view.node(f"{name}.{output}"), volts.value))
    placed = [
        (e, e.what.rating_a) for e in group.things.elements
        if isinstance(e.what, Fuse) and e.device not in group.supplies
    ]  # fmt: skip
    # Behind a fuse of its own no more flows than that lets through; fuses in a row, one by one.
    for _ in placed:
        for item, rating in placed:
            for (amps, by), node, volts_v in tuple(found):
                for near, far in ((item.a, item.b), (item.b, item.a)):
                    behind = min((amps, by), (rating, item.device))
                    if nets.joined(node, near) and (behind, far, volts_v) not in found:
                        found.append((behind, far, volts_v))
    return found


RULES: tuple[Rule, ...] = (Rule(("fuse-over-cable",), "class-2", fuse_over_cable),)
