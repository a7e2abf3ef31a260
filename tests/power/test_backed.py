"""Which doors a battery stands behind, where one supply has one and the other has none."""

from __future__ import annotations

import pytest

from latchwork.power.backed import batteries_beside, battery_behind
from tests.rules.jobs import MAGNET, NO_BATTERY, STRIKE, SUPPLY, but, findings, job, outcome, told

DOORS = (STRIKE, but(STRIKE, {"supply": "S2"}))
BOTH = f"S1: {SUPPLY}\nS2: {NO_BATTERY}"
ZERO = "[S1.-, lead, S2.-]"


@pytest.mark.parametrize(
    ("wires", "behind"),
    [
        # 0 V joined, as data that crosses needs it (common practice, no source): no way in.
        (ZERO, [True, False]),
        # Plus on plus: the battery feeds both.
        (f"{ZERO}, [S1.+, lead, S2.+]", [True, True]),
        # A diode lets the battery feed the other's doors, band to them; the other way round it
        # lets the other's mains feed the battery's.
        (f"{ZERO}, [S1.+, lead, aside.A], [aside.K, lead, S2.+]", [True, True]),
        (f"{ZERO}, [S1.+, lead, aside.K], [aside.A, lead, S2.+]", [True, False]),
        # Plus on minus: no way can be told from another.
        (f"{ZERO}, [S1.+, lead, S1.-]", [True, True]),
    ],
)
def test_a_battery_is_behind_what_its_plus_reaches(wires: str, behind: list[bool]) -> None:
    more = f"devices: {{aside: diode}}\nwiring: [{wires}]"
    site = outcome(job(*DOORS, supplies=BOTH, more=more))
    assert [battery_behind(site, door) for door in ("D1", "D2")] == behind


def test_batteries_are_beside_each_other_by_a_diode_in_each_too() -> None:
    """Each feeds the doors through its diode, and none the other."""
    wires = f"{ZERO}, [S1.+, lead, d1.A], [S2.+, lead, d2.A], [d1.K, lead, d2.K]"
    both = f"S1: {SUPPLY}\nS2: {SUPPLY}"
    for more, beside in ((wires, ("S2",)), (ZERO, ())):
        devices = f"devices: {{d1: diode, d2: diode}}\nwiring: [{more}]"
        site = outcome(job(*DOORS, supplies=both, more=devices))
        group = next(g for g in site.groups if "S1" in g.supplies)
        assert batteries_beside(site.plan, group, "S1") == beside


def test_one_block_is_a_battery() -> None:
    """12 V have one block of six cells, where 24 V have two (common practice, no source). It
    reaches a door through the fuse of an output."""
    feeds = ("battery: 1 x 12 V 7 Ah, outputs: {1: {fuse: 2 A}}", "limit: 3 A")
    both = "\n".join(f"S{n}: {{part: supply 12 V, {its}}}" for n, its in enumerate(feeds, 1))
    doors = [
        but(STRIKE, {"lock": "strike 12 V fail-secure", "supply": s}) for s in ("S1 out 1", "S2")
    ]
    site = outcome(job(*doors, supplies=both, more=f"wiring: [{ZERO}]"))
    assert [battery_behind(site, door) for door in ("D1", "D2")] == [True, False]


def test_joined_zeros_make_no_battery_of_another_supply() -> None:
    """The same is found with the wire and without: on battery a door that has none asks for
    nothing, and a magnet without one is alone."""
    alone = but(MAGNET, {"supply": "S2", "only lock overnight": "yes"})
    for more in ("", f"wiring: [{ZERO}]"):
        assert told(job(*DOORS, alone, supplies=BOTH, more=more)) == [("magnet-alone", "D3")]


@pytest.mark.parametrize(
    ("wires", "asks"),
    [(ZERO, True), (f"{ZERO}, [S1.+, lead, S2.+]", False)],
)
def test_hours_are_not_missed_where_the_battery_of_another_supply_carries_on(
    wires: str, *, asks: bool
) -> None:
    """On the plus of one with a battery nothing stops as the mains go: the same volts that the
    door has at that battery's end. By the 0 V alone nothing is carried."""
    text = job(*DOORS, supplies=BOTH, site=", standby: 1 h", more=f"wiring: [{wires}]")
    asked = {f.subject for f in findings(text) if f.rule == "no-battery"}
    assert asked == ({"S2"} if asks else set())


@pytest.mark.parametrize(("feeds", "asks"), [("two.K", False), ("S2.+", True)])
def test_hours_are_not_missed_past_a_diode_in_each_supply(feeds: str, *, asks: bool) -> None:
    """As above: what is said to do where two supplies' pluses are joined. What hangs on the second
    ahead of its diode stops at once."""
    rows = f"{ZERO}, [S1.+, lead, one.A], [S2.+, lead, two.A], [one.K, lead, two.K]"
    power = "{{power: [[{}, lead, controller.+], [S2.-, lead, controller.-]]}}"
    doors = [but(DOORS[1], {"wiring": power.format(screw)}) for screw in ("two.K", feeds)]
    more = f"devices: {{one: diode, two: diode}}\nwiring: [{rows}]"
    text = job(STRIKE, *doors, supplies=BOTH, site=", standby: 1 h", more=more)
    asked = {f.subject for f in findings(text) if f.rule == "no-battery"}
    assert asked == ({"S2"} if asks else set())
