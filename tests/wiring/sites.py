"""Jobs written as text, wired, and their rows held against rows written by hand."""

from __future__ import annotations

from latchwork.job import read_job_text
from latchwork.parts import catalogue
from latchwork.plan import plan
from latchwork.wiring import Wiring, merged, wire
from latchwork.wiring.union import Union

SUPPLIES = """
latchwork: 1
supplies:
  S1:
    part: supply 24 V
    limit: 5 A
    battery: 2 x 12 V 7 Ah
    outputs: {1: {fuse: 1.0 A}, 2: {fuse: 1.0 A}}
"""

Nets = frozenset[frozenset[str]]
Cores = dict[str, frozenset[str]]


RELEASED = """
latchwork: 1
supplies: {S1: {part: supply 12 V, outputs: {1: {fuse: 3.15 A}}}}
devices: {F1: "fire relay, double pole", R1: "release, double pole"}
usual:
  supply: S1 out 1
  lock: magnet 12 V
  controller: controller
  controller at: supply
  exit: exit button
  release: R1
  fire: F1
  out by: nothing mechanical
  runs:
    lock: 10 m of 2 x 1.5 mm²
    exit: 10 m of 4 x 0.22 mm²
    release: 10 m of 4 x 1.5 mm²
doors: {D1: {}, D2: {}}
"""
"""A fire relay and a release that two doors share."""


def wired(doors: str, head: str = SUPPLIES) -> Wiring:
    """The wiring of a job made of ``head`` and of ``doors``."""
    return wire(plan(read_job_text(head + doors, "job.yaml"), catalogue()))


def drawn(wiring: Wiring, door: str) -> tuple[Nets, Cores]:
    """What a door's rows join: terminals that are one node, and for each core its two nodes.

    A node is written as its names joined by " = ".
    """
    rows = [row for row in wiring.planned_rows if row.door == door]
    return _joined([(row.start, row.cores, row.end) for row in rows])


def by_hand(text: str, door: str) -> tuple[Nets, Cores]:
    """The same of rows written by hand: "from | cable core | to", "lead" for no core.

    Names without a door's or supply's number before them are the door's own.
    """
    rows = []
    for line in text.strip().splitlines():
        start, cores, end = (piece.strip() for piece in line.split("|"))
        ids = tuple(
            _full(core.strip().replace(" ", "."), door)
            for core in cores.split("+")
            if core.strip() != "lead"
        )
        rows.append((_full(start, door), ids, _full(end, door)))
    return _joined(rows)


def _full(name: str, door: str) -> str:
    first = name.partition(".")[0]
    numbered = first[-1].isdigit() and first[0] in "SFCTKP"
    return name if numbered or name == "open" else f"{door}.{name}"


def _joined(rows: list[tuple[str, tuple[str, ...], str]]) -> tuple[Nets, Cores]:
    union = Union()
    names: set[str] = set()
    for start, cores, end in rows:
        names |= {start, end}
        if not cores:
            union.join(start, end)
    groups: dict[str, set[str]] = {}
    for name in names - {"open"}:
        groups.setdefault(union.find(name), set()).add(name)
    called = {name: " = ".join(sorted(group)) for group in groups.values() for name in group}
    called["open"] = "open"
    nets = frozenset(frozenset(group) for group in groups.values() if len(group) > 1)
    ends = {
        core: frozenset((called[start], called[end]))
        for start, cores, end in rows
        for core in cores
    }
    return nets, ends


def same_node(wiring: Wiring, a: str, b: str) -> bool:
    """Whether leads make one node of two terminals."""
    nodes = merged(wiring)
    return nodes[a] == nodes[b]


Electrical = frozenset[tuple[frozenset[str], frozenset[str], float]]


def electrical(wiring: Wiring) -> Electrical:
    """Every conductor as its two nodes (all the terminals in each) and its ohms."""
    nodes = merged(wiring)
    groups: dict[str, set[str]] = {}
    for name, node in nodes.items():
        groups.setdefault(node, set()).add(name)
    held = {name: frozenset(groups[node]) for name, node in nodes.items()}
    return frozenset((held[c.start], held[c.end], round(c.ohm.value, 9)) for c in wiring.conductors)
