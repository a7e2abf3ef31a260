"""What is joined that should not be, and what should be joined and is not."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import combinations

from latchwork.behaviour import Group
from latchwork.elements import Fuse, Rail
from latchwork.findings import Finding, Severity
from latchwork.job import counted
from latchwork.power.nets import Contacts, Feed, Nets, feeds
from latchwork.rules.rule import Rule
from latchwork.rules.view import View
from latchwork.wiring.union import Union

PANEL = "fire panel supply"
LOCKED_CONTACT = "locked_contact"
"""What the terminals of a lock's own contact do."""

TROUBLES = {
    "too few cores": Severity.FAILS,
    "no such contact": Severity.FAILS,
    "no such terminal": Severity.FAILS,
    "nothing to join to": Severity.FAILS,
    "one contact for several locks": Severity.FAILS,
    "left open": Severity.FAILS,
    "in no row": Severity.WEAK,
    "supply unsaid": Severity.WEAK,
    "output unsaid": Severity.NOTE,
}
"""What the standard arrangement could not do, and how bad that is. A supply with several outputs
of which none was named is a question: the first is taken."""


def _of_supplies(view: View, group: Group) -> list[Feed]:
    """One source for each supply: its plus and minus; S2 before S10, wherever the file has them."""
    found = {f.device: f for f in feeds(group) if f.device in view.plan.supplies}
    return sorted(found.values(), key=lambda feed: counted(feed.device))


def pluses_joined(view: View) -> Iterator[Finding]:
    """The plus of several supplies joined: each feeds what the others are thought to feed. One
    finding for all that are joined, whichever of them the file has first. A battery is there to be
    joined to its supply."""
    for group in view.site.groups:
        nets = view.nets(group, Contacts.REST)
        direct = [
            feed
            for feed in _of_supplies(view, group)
            if not feed.alternating and view.part(feed.device).kind != "battery"
        ]
        together = Union()
        for a, b in combinations(direct, 2):
            if any(nets.joined(x, y) for x in _pluses(view, a) for y in _pluses(view, b)):
                together.join(a.device, b.device)
        joined: dict[str, list[str]] = defaultdict(list)
        for feed in direct:
            joined[together.find(feed.device)].append(feed.device)
        for first, *others in joined.values():
            if others:
                figures: dict[str, float | str] = {"other": ", ".join(others)}
                yield Finding("pluses-joined", first, Severity.WEAK, "", figures, "practice")


def _pluses(view: View, feed: Feed) -> tuple[str, ...]:
    outputs = view.plan.supplies[feed.device].outputs
    return feed.plus, *(view.node(f"{feed.device}.{name}") for name in outputs)


def outputs_joined(view: View) -> Iterator[Finding]:
    """Fused outputs of one supply joined behind their fuses: no fuse of theirs isolates any more,
    and a short draws on all. One finding for a supply, with all that are joined."""
    for name, supply in view.plan.supplies.items():
        fuses = {e.name for e in view.part(name).elements if isinstance(e, Fuse)}
        fused = sorted((o for o in supply.outputs if f"fuse {o}" in fuses), key=counted)
        behind = [
            _behind_fuses(view, g, Contacts.NONE) for g in view.site.groups if name in g.supplies
        ]
        together = Union()
        for one, other in combinations(fused, 2):
            ends = view.node(f"{name}.{one}"), view.node(f"{name}.{other}")
            if any(nets.joined(*ends) for nets in behind):
                together.join(one, other)
        joined: dict[str, list[str]] = defaultdict(list)
        for output in fused:
            joined[together.find(output)].append(f"{name}.{output}")
        told = ", ".join(" + ".join(each) for each in joined.values() if len(each) > 1)
        if told:
            yield Finding("outputs-joined", name, Severity.WEAK, "", {"joined": told}, "practice")


def panel_zero(view: View) -> Iterator[Finding]:
    """The fire panel's 0 V joined to the 0 V of locks: a fault on one side shows on the other."""
    panel = view.plan.job.site.facts.get(PANEL)
    if not isinstance(panel, str):
        return
    if panel not in view.plan.supplies:
        yield Finding("panel-supply-unknown", "site", Severity.NOTE, "", {"name": panel}, "model")
        return
    for group in view.site.groups:
        if panel not in group.supplies:
            continue
        nets = view.nets(group)
        ours = view.node(f"{panel}.-")
        for feed in _of_supplies(view, group):
            if feed.device != panel and nets.joined(ours, feed.minus):
                yield Finding(
                    "panel-zero-joined",
                    feed.device,
                    Severity.WEAK,
                    "",
                    {"panel": panel},
                    "practice",
                )


def no_common_zero(view: View) -> Iterator[Finding]:
    """An input fed from another supply that shares no 0 V with it: nothing flows back."""
    for group in view.site.groups:
        sources = _of_supplies(view, group)
        if len(sources) < 2:
            continue
        copper, closed = view.nets(group), view.nets(group, Contacts.ALL)
        told: set[str] = set()
        for item in group.things.elements:
            if not isinstance(item.what, Rail) or item.device in told:
                continue
            # A rail pulls its input up against the part's own ground.
            for feed in sources:
                reaches = closed.joined(item.a, feed.minus) or closed.joined(item.a, feed.plus)
                if reaches and not copper.joined(item.b, feed.minus):
                    told.add(item.device)
                    yield Finding(
                        "no-common-zero",
                        item.device,
                        Severity.FAILS,
                        "",
                        {"input": item.what.plus, "supply": feed.device},
                        "practice",
                    )
                    break


def data_swapped(view: View) -> Iterator[Finding]:
    """A reader's two data lines on each other's inputs: every bit is read as its opposite.

    D0 carries the zeros, D1 the ones (SIA AC-01, from memory). Swapped, a frame is its own
    complement; in the open 26-bit format each half has an odd count of bits, so both parities fail.
    """
    for door, _ in view.doors():
        reader, controller = view.device(door, "reader"), view.device(door, "controller")
        group = view.site.group_of(door.id)
        if reader is None or controller is None or group is None:
            continue
        nets = view.nets(group)
        ends = {name: view.node(f"{reader.id}.{name}") for name in ("D0", "D1")}
        wants = {
            t.name[:2]: view.node(f"{controller.id}.{t.name}")
            for t in controller.part.terminals
            if t.name[:2] in ends
            and any(nets.joined(view.node(f"{controller.id}.{t.name}"), e) for e in ends.values())
        }
        if len(wants) == len(ends) and all(
            nets.joined(ends[a], wants[b]) and not nets.joined(ends[a], wants[a])
            for a, b in (("D0", "D1"), ("D1", "D0"))
        ):
            yield Finding("data-swapped", reader.id, Severity.FAILS, "", {}, "data-lines")


def troubles(view: View) -> Iterator[Finding]:
    """What the standard arrangement could not do with the kit that is there."""
    for trouble in view.site.wiring.troubles:
        figures = {k: float(v) if isinstance(v, int) else v for k, v in trouble.figures.items()}
        yield Finding(
            f"wiring-{trouble.code.replace(' ', '-')}",
            str(figures.get("device") or figures.get("cable") or trouble.door),
            TROUBLES[trouble.code],
            "",
            {
                "leg": trouble.leg,
                "device": "",
                "terminal": "",
                "cable": "",
                "supply": "",
                "needed": 0.0,
                "available": 0.0,
                **figures,
            },
            "model",
        )


def _behind_fuses(view: View, group: Group, contacts: Contacts = Contacts.ALL) -> Nets:
    def make() -> Nets:
        return Nets(view.plan, group, contacts, fuses=False)

    return view.kept(("behind fuses", id(group), contacts), make)


def fed_elsewhere(view: View) -> Iterator[Finding]:
    """A lock whose plus hangs on another output than its door's: its own fuse does not isolate
    it."""
    for door, outcome in view.doors():
        supply, _, own = door.door.supply.partition(".")
        planned = view.plan.supplies.get(supply)
        group = view.site.group_of(door.id)
        if not own or planned is None or group is None or len(planned.outputs) < 2:
            continue
        nets = _behind_fuses(view, group)
        for lock in outcome.locks:
            plus = view.node(f"{lock.device}.+")
            fed = [o for o in planned.outputs if nets.joined(plus, view.node(f"{supply}.{o}"))]
            if fed and own not in fed:
                yield Finding(
                    "fed-elsewhere",
                    lock.device,
                    Severity.NOTE,
                    "",
                    {"own": f"{supply}.{own}", "other": f"{supply}.{fed[0]}"},
                    "model",
                )


def lock_contact_open(view: View) -> Iterator[Finding]:
    """A lock with a contact that tells whether it is locked, which nothing is joined to."""
    for device in view.plan.devices.values():
        ends = {f"{device.id}.{t.name}" for t in device.part.terminals if t.does == LOCKED_CONTACT}
        if ends and not ends & view.wired_terminals:
            screws = " ".join(sorted(end.rpartition(".")[2] for end in ends))
            figures: dict[str, float | str] = {"screws": screws}
            yield Finding("lock-contact-open", device.id, Severity.NOTE, "", figures, "practice")


RULES: tuple[Rule, ...] = (
    Rule(("fed-elsewhere",), "model", fed_elsewhere),
    Rule(("pluses-joined",), "practice", pluses_joined),
    Rule(("outputs-joined",), "practice", outputs_joined),
    Rule(("panel-zero-joined", "panel-supply-unknown"), "practice", panel_zero),
    Rule(("no-common-zero",), "practice", no_common_zero),
    Rule(("data-swapped",), "data-lines", data_swapped),
    Rule(("lock-contact-open",), "practice", lock_contact_open),
    Rule(tuple(f"wiring-{code.replace(' ', '-')}" for code in TROUBLES), "model", troubles),
)
