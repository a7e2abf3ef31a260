"""Deviations laid over a standard door: what is joined afterwards, worked out by hand."""

from __future__ import annotations

import pytest

from latchwork.job import JobErrors
from latchwork.wiring import Wiring, merged
from tests.wiring.sites import same_node, wired

DOOR = """
doors:
  D1:
    supply: S1 out 1
    lock: strike 24 V fail-secure
    controller: controller
    exit: button
    diode: diode
    runs: {power: 18 m of 2 x 1.0 mm², exit: 6 m of 4 x 0.22 mm²}
    found:
"""


def found(*deviations: str) -> Wiring:
    """The door with those deviations."""
    return wired(DOOR + "".join(f"      - {text}\n" for text in deviations))


def ends(wiring: Wiring, core: str) -> set[str]:
    """The two ends of an undivided core."""
    (conductor,) = [c for c in wiring.conductors if c.id == core]
    return {conductor.start, conductor.end}


def test_a_moved_core_is_on_its_new_terminal_only() -> None:
    wiring = found("{moved: exit brown, from: controller.GND, to: controller.TAMPER}")
    assert ends(wiring, "D1.exit.brown") == {"D1.controller.TAMPER", "D1.exit.COM"}
    assert [(r.cores, r.planned) for r in wiring.rows if not r.planned] == [
        (("D1.exit.brown",), False)
    ]
    assert all(row.planned for row in wiring.planned_rows)


def test_a_spare_core_put_to_use() -> None:
    wiring = found("{added: exit green, from: controller.BELL1, to: exit.NC}")
    assert ends(wiring, "D1.exit.green") == {"D1.controller.BELL1", "D1.exit.NC"}


def test_swapped_cores_change_places() -> None:
    wiring = found("{swapped: [power brown, power blue]}")
    assert ends(wiring, "D1.power.brown") == {"S1.1", "D1.controller.-"}
    assert ends(wiring, "D1.power.blue") == {"S1.-", "D1.controller.+"}
    near = found('{swapped: [power brown, power blue], at: "from S1"}')
    assert ends(near, "D1.power.brown") == {"S1.-", "D1.controller.+"}


def test_swapped_cores_of_two_cables_change_places_where_both_are() -> None:
    """The supply's cable ends at the controller, the button's begins there."""
    wiring = found("{swapped: [power blue, exit brown], at: from controller}")
    assert ends(wiring, "D1.power.blue") == {"S1.-", "D1.controller.GND"}
    assert ends(wiring, "D1.exit.brown") == {"D1.controller.-", "D1.exit.COM"}


TRUNK = """
cables: {trunk: 20 m of 2 x 1.0 mm²}
taps: {K1: {on: trunk, at: 4 m}}
wiring: [[S1.1, trunk brown, open], [S1.-, trunk blue, open]]
found: [{swapped: [trunk brown, trunk blue]}]
"""


@pytest.mark.parametrize("job", [DOOR + "      - {swapped: [power blue, exit brown]}\n", TRUNK])
def test_swapped_cores_that_lead_elsewhere_by_their_end_say_which(job: str) -> None:
    """Of two cables, or of one with taps on its way."""
    with pytest.raises(JobErrors) as caught:
        wired(job)
    assert [problem.code for problem in caught.value.problems] == ["found.end"]


@pytest.mark.parametrize(
    ("length", "at", "told"),
    [
        # Neither end of the button's cable is at the supply: from there 4 m may be anywhere.
        ("6 m", "4 m from S1", ["cable.end"]),
        ("6 m", "7 m from exit", ["cable.beyond"]),
        # A length that was guessed may be longer; past all that it may be is past its end.
        ("5 to 8 m", "7 m from exit", []),
        ("5 to 8 m", "9 m from exit", ["cable.beyond"]),
    ],
)
def test_a_place_is_on_the_cable_from_one_of_its_ends(
    length: str, at: str, told: list[str]
) -> None:
    job = f"{DOOR}      - {{break: exit white, at: {at}}}\n".replace("exit: 6 m", f"exit: {length}")
    try:
        wired(job)
        codes = []
    except JobErrors as errors:
        codes = [problem.code for problem in errors.problems]
    assert codes == told


def test_swapped_terminals_change_all_that_is_on_them() -> None:
    wiring = found("{swapped: [controller.NO, controller.NC]}")
    assert same_node(wiring, "D1.controller.NC", "D1.lock.+")
    assert not same_node(wiring, "D1.controller.NO", "D1.lock.+")


def test_swapped_terminals_change_what_was_added_on_them() -> None:
    """By hand: an added lead from EXIT to GND is from EXIT to TAMPER once those two are swapped."""
    lead = "{added: lead, from: controller.EXIT, to: controller.GND}"
    swap = "{swapped: [controller.GND, controller.TAMPER]}"
    assert same_node(found(lead, swap), "D1.controller.EXIT", "D1.controller.TAMPER")
    assert not same_node(found(lead, swap), "D1.controller.EXIT", "D1.controller.GND")
    # Added afterwards it is where it is written.
    assert same_node(found(swap, lead), "D1.controller.EXIT", "D1.controller.GND")


def test_a_core_added_from_its_far_end_is_swapped_at_the_end_that_is_named() -> None:
    """By hand: at the button the added core is on NC and white on NO; swapped there, the other way
    round."""
    wiring = found(
        "{added: exit green, from: exit.NC, to: controller.BELL1}",
        "{swapped: [exit green, exit white], at: from exit}",
    )
    assert ends(wiring, "D1.exit.green") == {"D1.controller.BELL1", "D1.exit.NO"}
    assert ends(wiring, "D1.exit.white") == {"D1.controller.EXIT", "D1.exit.NC"}


def test_a_missing_core_and_a_missing_device() -> None:
    wiring = found("{missing: exit white}", "{missing: diode}")
    assert not [c for c in wiring.conductors if c.core == "white"]
    assert [(s.device, s.state) for s in wiring.states] == [("D1.diode", "missing")]


def test_an_added_lead_joins_and_one_with_a_resistance_does_not() -> None:
    assert same_node(
        found("{added: lead, from: controller.EXIT, to: controller.GND}"),
        "D1.controller.EXIT",
        "D1.controller.GND",
    )
    spread = "resistance: 4 to 6 ohm"
    wiring = found(f"{{added: lead, from: controller.EXIT, to: controller.GND, {spread}}}")
    assert not same_node(wiring, "D1.controller.EXIT", "D1.controller.GND")
    ohms = [lead.ohm for lead in wiring.leads if lead.ohm]
    assert [(ohm.low, ohm.value, ohm.high) for ohm in ohms] == [(4.0, 5.0, 6.0)]


def test_a_short_divides_both_cores_where_it_is() -> None:
    wiring = found("{short: [exit white, exit brown], at: 4 m from controller}")
    (bridge,) = wiring.bridges
    pieces = {c.id: (c.start, c.end, c.length_m.value) for c in wiring.conductors}
    assert pieces["D1.exit.white"] == ("D1.controller.EXIT", bridge.a, 4.0)
    assert pieces["D1.exit.white#2"] == (bridge.a, "D1.exit.NO", 2.0)
    assert pieces["D1.exit.brown"] == ("D1.controller.GND", bridge.b, 4.0)
    assert pieces["D1.exit.brown#2"] == (bridge.b, "D1.exit.COM", 2.0)


def test_a_place_counts_from_the_end_that_is_named() -> None:
    wiring = found("{short: [exit white, exit brown], at: 4 m from exit}")
    assert [c.length_m.value for c in wiring.conductors if c.core == "white"] == [2.0, 4.0]


def test_the_pieces_of_a_divided_core_have_the_resistance_of_the_whole() -> None:
    """1.0 mm²: half-way from ideal copper, 1/58 Ω·mm²/m (IEC 60028), to 19.5 Ω/km (IEC 60228)."""
    whole = 18 * (19.5e-3 + 1 / 58) / 2
    wiring = found("{leak: [power brown, power blue], at: 5 m, resistance: 2 kohm}")
    pieces = [c.ohm.value for c in wiring.conductors if c.core == "brown" and c.leg == "power"]
    assert pieces == pytest.approx([whole * 5 / 18, whole * 13 / 18])
    assert wiring.bridges[0].ohm.value == 2000.0


def test_a_break_leaves_two_ends_that_nothing_joins() -> None:
    wiring = found("{break: power brown, at: 7 m}")
    first, second = [c for c in wiring.conductors if c.id.startswith("D1.power.brown")]
    nodes = merged(wiring)
    assert nodes[first.end] != nodes[second.start]
    assert (first.start, second.end) == ("S1.1", "D1.controller.+")
    others = [c for c in wiring.conductors if c not in (first, second)]
    assert not {first.end, second.start} & {end for c in others for end in (c.start, c.end)}


def test_a_short_between_spare_cores_gives_each_open_end_a_node_of_its_own() -> None:
    wiring = found("{short: [exit green, exit yellow], at: 4 m from controller}")
    open_ends = [end for c in wiring.conductors for end in (c.start, c.end) if "@" in end]
    assert sorted(open_ends) == [
        "D1.exit.green@1",
        "D1.exit.green@2",
        "D1.exit.yellow@1",
        "D1.exit.yellow@2",
    ]


def test_a_leak_to_earth() -> None:
    wiring = found("{leak: [exit white, earth], at: 2 m, resistance: 10 kohm}")
    assert {wiring.bridges[0].a, wiring.bridges[0].b} == {"D1.exit.white~1", "earth"}


def test_a_part_in_a_state_of_its_own() -> None:
    wiring = found(
        "{part: controller, state: Relay stuck on}", "{part: diode, state: diode reversed}"
    )
    assert [(s.device, s.state) for s in wiring.states] == [
        ("D1.controller", "relay stuck on"),
        ("D1.diode", "diode reversed"),
    ]


def test_what_is_on_swapped_screws_is_marked_as_changed() -> None:
    rows = found("{swapped: [controller.EXIT, controller.GND]}").rows
    changed = {core for row in rows for core in row.cores if not row.planned}
    assert changed == {"D1.exit.white", "D1.exit.brown"}


def test_every_bridge_of_a_crushed_cable_has_a_name_of_its_own() -> None:
    wiring = found("{short: [exit, earth], at: 2 m}")
    assert len({bridge.id for bridge in wiring.bridges}) == len(wiring.bridges) == 4


def test_what_holds_only_when_wet_is_reckoned_as_wet() -> None:
    wet = found("{leak: [exit white, exit brown], at: 2 m, resistance: 800 ohm, when: wet}")
    assert len(wet.bridges) == 1


def test_a_joint_with_a_resistance_lies_between_its_rows() -> None:
    wiring = wired(
        """
doors:
  D8:
    lock: strike 24 V fail-secure
    controller: controller
    cables: {main: 31 m of category cable}
    joints: {J1: {place: ceiling box}}
    wiring:
      - [controller.NO, main blue + main orange, J1]
      - [J1, lead, lock.+]
    found:
      - {part: J1, resistance: measured 2.2 ohm}
"""
    )
    (joint,) = [lead for lead in wiring.leads if lead.ohm is not None]
    assert joint.ohm is not None
    assert joint.ohm.value == 2.2
    assert {c.end for c in wiring.conductors} == {joint.start}
    assert same_node(wiring, joint.end, "D8.lock.+")
    assert not same_node(wiring, joint.start, "D8.lock.+")


def test_the_pieces_of_a_core_add_up_to_all_of_it() -> None:
    """Resistances in series add up, at least, as planned and at most; what is not known of the
    length lies beyond the place that was measured."""
    text = (
        DOOR.replace("power: 18 m", "power: about 18 m") + "      - {break: power brown, at: 5 m}\n"
    )
    wiring = wired(text)
    cable = wiring.plan.cables["D1.power"]
    near, far = (c for c in wiring.conductors if c.id.startswith("D1.power.brown"))
    assert (near.length_m.low, near.length_m.high) == (5.0, 5.0)
    whole = cable.length_m
    assert whole.low < 18.0 < whole.high
    assert (far.length_m.low, far.length_m.high) == pytest.approx((whole.low - 5, whole.high - 5))
    for side in ("low", "value", "high"):
        ohm = getattr(cable.type.ohm_per_m, side) * getattr(whole, side)
        pieces = getattr(near.ohm, side) + getattr(far.ohm, side)
        assert pieces == pytest.approx(ohm)


def test_what_is_broken_nobody_says_where_is_broken_half_way() -> None:
    pieces = [c for c in found("{break: power brown}").conductors if "power.brown" in c.id]
    assert [piece.length_m.value for piece in pieces] == [9.0, 9.0]
