"""What cannot matter electrically does not: names, order, a joint without resistance."""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass, replace
from random import Random

from hypothesis import given
from hypothesis import strategies as st

from latchwork.wiring import Wiring, merged
from tests.wiring.sites import SUPPLIES, wired
from tests.wiring.test_arrangements import ARRANGEMENTS

Rows = tuple[tuple[str, tuple[tuple[str, str], ...], str], ...]
Links = dict[frozenset[str], list[float]]


@dataclass(frozen=True)
class Whole:
    """A door described core by core. ``cables``: name -> metres and type."""

    head: str
    cables: dict[str, tuple[float, str]]
    joints: tuple[str, ...]
    rows: Rows

    def wired(self) -> Wiring:
        """Its wiring."""
        lines = [self.head.rstrip()]
        if self.cables:
            lines.append("    cables:")
            lines += [f"      {name}: {m!r} m of {kind}" for name, (m, kind) in self.cables.items()]
        if self.joints:
            lines.append(
                "    joints: {" + ", ".join(f"{joint}: {{}}" for joint in self.joints) + "}"
            )
        lines.append("    wiring:")
        for start, cores, end in self.rows:
            via = " + ".join(f"{cable} {core}" for cable, core in cores) or "lead"
            lines.append(f"      - [{start}, {via}, {end}]")
        return wired("\n".join(lines) + "\n", "")


def described(name: str) -> Whole:
    """A standard arrangement, written out row by row."""
    _, job, _ = ARRANGEMENTS[name]
    job = job if "latchwork: 1" in job else SUPPLIES + job
    wiring = wired(job, "")
    cables = {c.leg: (c.length_m.value, c.type.name) for c in wiring.plan.cables.values()}
    rows = tuple(
        (
            row.start.removeprefix("D1."),
            tuple((core.split(".")[1], core.split(".")[2]) for core in row.cores),
            row.end.removeprefix("D1."),
        )
        for row in wiring.planned_rows
    )
    ends = dict.fromkeys(end for start, _, end_ in rows for end in (start, end_))
    joints = tuple(end for end in ends if re.fullmatch(r"X\d", end))
    return Whole(re.sub(r"    runs: .*\n", "", job), cables, joints, rows)


def links(wiring: Wiring) -> Links:
    """Ohms between nodes; a node is its screws. A joint of two cores alone is part of a core."""
    nodes = merged(wiring)
    screws: dict[str, set[str]] = defaultdict(set)
    for device in wiring.plan.devices.values():
        for terminal in device.part.terminals:
            name = f"{device.id}.{terminal.name}"
            screws[nodes[name]].add(name)
    edges = [(nodes[c.start], nodes[c.end], c.ohm.value) for c in wiring.conductors]
    while True:
        at: dict[str, list[tuple[str, str, float]]] = defaultdict(list)
        for edge in edges:
            at[edge[0]].append(edge)
            at[edge[1]].append(edge)
        plain = next((n for n, es in at.items() if not screws[n] and len(es) == 2), None)
        if plain is None:
            break
        one, other = at[plain]
        far = [end for edge in (one, other) for end in edge[:2] if end != plain]
        edges = [e for e in edges if e is not one and e is not other]
        edges.append((far[0], far[1], one[2] + other[2]))
    found: Links = defaultdict(list)
    for start, end, ohm in edges:
        key = frozenset(" = ".join(sorted(screws[n])) for n in (start, end))
        found[key].append(round(ohm, 6))
    return {key: sorted(ohms) for key, ohms in found.items()}


def partition(wiring: Wiring) -> frozenset[frozenset[str]]:
    """Which screws are one node."""
    groups: dict[str, set[str]] = defaultdict(set)
    nodes = merged(wiring)
    for device in wiring.plan.devices.values():
        for terminal in device.part.terminals:
            name = f"{device.id}.{terminal.name}"
            groups[nodes[name]].add(name)
    return frozenset(frozenset(group) for group in groups.values())


DOORS = st.sampled_from(sorted(ARRANGEMENTS)).map(described)


@given(DOORS, st.data())
def test_the_order_and_direction_of_rows_do_not_matter(door: Whole, data: st.DataObject) -> None:
    before = door.wired()
    rows = data.draw(st.permutations(door.rows))
    turned = data.draw(st.lists(st.booleans(), min_size=len(rows), max_size=len(rows)))
    rows = [(e, c, s) if turn else (s, c, e) for (s, c, e), turn in zip(rows, turned, strict=True)]
    after = replace(door, rows=tuple(rows)).wired()
    assert links(after) == links(before)
    assert partition(after) == partition(before)


@given(DOORS, st.randoms(use_true_random=False))
def test_names_do_not_matter(door: Whole, random: Random) -> None:
    before = door.wired()
    names = [f"c{n}" for n in range(len(door.cables))]
    random.shuffle(names)
    called = dict(zip(door.cables, names, strict=True))
    rows = tuple(
        (s, tuple((called[cable], core) for cable, core in cores), e) for s, cores, e in door.rows
    )
    cables = {called[name]: cable for name, cable in door.cables.items()}
    head = re.sub(r"\bD1\b", "D7", door.head).replace("  D7:\n", "  D7:\n    name: Back gate\n")
    head = re.sub(r"\bS1\b", "S9", head)
    rows = tuple((_renamed(s), cores, _renamed(e)) for s, cores, e in rows)
    after = Whole(head, cables, door.joints, rows).wired()

    def back(text: str) -> str:
        return re.sub(r"\bS9\b", "S1", re.sub(r"\bD7\b", "D1", text))

    assert {
        frozenset(" = ".join(sorted(back(n).split(" = "))) for n in key): ohms
        for key, ohms in links(after).items()
    } == links(before)
    assert frozenset(frozenset(map(back, group)) for group in partition(after)) == partition(before)


def _renamed(end: str) -> str:
    return re.sub(r"^S1\b", "S9", end)


@given(DOORS, st.data())
def test_a_perfect_joint_along_a_cable_does_not_matter(door: Whole, data: st.DataObject) -> None:
    before = door.wired()
    cable = data.draw(st.sampled_from(sorted(door.cables)))
    metres, kind = door.cables[cable]
    share = data.draw(st.floats(0.05, 0.95))
    cables = {**door.cables, "near": (metres * share, kind), "far": (metres * (1 - share), kind)}
    del cables[cable]
    rows: list[tuple[str, tuple[tuple[str, str], ...], str]] = []
    joints = list(door.joints)
    for start, cores, end in door.rows:
        if not any(used == cable for used, _ in cores):
            rows.append((start, cores, end))
            continue
        joints.append(f"M{len(joints)}")
        rows.append((start, tuple(("near", core) for _, core in cores), joints[-1]))
        rows.append((joints[-1], tuple(("far", core) for _, core in cores), end))
    after = replace(door, cables=cables, joints=tuple(joints), rows=tuple(rows)).wired()
    assert links(after) == links(before)
    assert partition(after) == partition(before)


@given(st.permutations(["ORDINARY", "MOTOR_LOCK", "BELL_BY_ITS_BUTTON", "MONITORED_LOCK"]))
def test_the_order_of_doors_does_not_matter(order: list[str]) -> None:
    def job(names: list[str]) -> Wiring:
        doors = [
            ARRANGEMENTS[name][1]
            .replace("doors:\n", "")
            .replace("D1", name.title().replace("_", ""))
            for name in names
        ]
        return wired("doors:" + "".join(doors))

    before, after = job(sorted(order)), job(order)
    assert links(after) == links(before)
    assert partition(after) == partition(before)
