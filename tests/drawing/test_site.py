"""The site's drawing: supplies, cables and doors, and a door that looks like a door."""

from __future__ import annotations

import pytest

from latchwork.drawing.door import door_sheet
from latchwork.drawing.elevation import HIGH, WIDE, Fitted, elevation
from latchwork.drawing.sheet import Arc, Form, Ink, Path, Shape
from latchwork.drawing.site import site_sheet
from latchwork.drawing.svg import svg
from latchwork.job import Door, OutBy
from tests.drawing.jobs import demo, index_of, site_of
from tests.drawing.reading import read
from tests.drawing.test_read_back import said, seen


@pytest.mark.parametrize("form", Form)
def test_every_cable_that_leaves_a_door_is_drawn_between_its_ends(form: Form) -> None:
    """By hand from the demo's file: what runs from which supply or shared device to which door."""
    drawing = read(svg(site_sheet(demo("mended"), form)))
    cables = {
        (line.data["cable"], *sorted(end.partition("/")[0].partition(".")[0] for end in ends))
        for line in drawing.lines
        if line.data["kind"] == "cable"
        for ends in [(line.data["from"], line.data["to"])]
    }
    assert ("D1.power", "D1", "S2") in cables
    assert ("D2.power", "D2", "S1") in cables
    assert ("D3.power", "D3", "S1") in cables
    assert ("D5.power", "D5", "S1") in cables
    assert ("D6.lock", "C1", "D6") in cables
    assert ("D6.reader", "C1", "D6") in cables
    assert ("D7.reader", "C1", "D7") in cables
    assert not [cable for cable in cables if cable[0] == "D2.reader"]


@pytest.mark.parametrize("form", Form)
@pytest.mark.parametrize("seed", range(4))
def test_site_lines_touch_what_they_name(seed: int, form: Form) -> None:
    drawing = read(svg(site_sheet(site_of(seed), form)))
    assert drawing.lines
    assert said(drawing) == seen(drawing)


def test_a_tapped_trunk_is_drawn_stretch_by_stretch() -> None:
    drawing = read(svg(site_sheet(site_of(0))))
    pairs = {
        frozenset(end.partition(".")[0] for end in (line.data["from"], line.data["to"]))
        for line in drawing.lines
        if line.data.get("cable") == "trunk"
    }
    assert {"S1", "K1"} in pairs
    assert {"K1", "K2"} in pairs


@pytest.mark.parametrize("form", Form)
def test_what_no_door_uses_stands_whole_in_its_frame(form: Form) -> None:
    """A relay that no wire ends on: its part stood on the lower edge."""
    text = BELLS.replace("P1: bell button,", "P1: bell button, F1: fire relay,", 1)
    (block,) = [b for b in site_sheet(index_of(text), form).blocks if b.id == "F1"]
    assert not block.pins
    lowest = max(label.box[3] for label in block.labels)
    assert block.box[3] - lowest >= 4


BELLS = """\
latchwork: 1
supplies: {S1: transformer 12 V AC}
devices: {P1: bell button, P2: bell button, B1: bell 12 V, B2: bell 12 V}
cables: {riser: 30 m of 4 x 0.5 mm²}
wiring:
  - [S1.A1, lead, P1.1]
  - [P1.1, lead, P2.1]
  - [P1.2, riser brown, B1.+]
  - [P2.2, riser blue, B2.+]
  - [S1.A2, riser black, B1.-]
  - [B1.-, lead, B2.-]
doors: {D1: {lock: strike 12 V AC fail-secure}}
"""


def test_a_cable_that_serves_several_devices_is_drawn_to_each() -> None:
    """By hand from the job: the riser goes to both bells; one without a line looks unwired."""
    drawing = read(svg(site_sheet(index_of(BELLS))))
    joined = {
        end.partition(".")[0]
        for line in drawing.lines
        for end in (line.data["from"], line.data["to"])
    }
    assert {"P1", "P2", "B1", "B2"} <= joined


BESIDE = """\
latchwork: 1
site: {name: Quillet Stair}
supplies: {S1: {part: supply 24 V}}
doors:
  D1:
    lock: magnet 24 V
    controller: controller, reader outside
    controller at: supply
    reader: reader
    release: release, double pole
    fire: fire relay
    runs: {lock: 25 m of 2 x 1.0 mm², release: 26 m of 4 x 1.0 mm², fire: 12 m of 2 x 1.0 mm²}
"""


@pytest.mark.parametrize("doors", [None, ["D1"]])
def test_what_stands_beside_the_supply_is_drawn_there(doors: list[str] | None) -> None:
    """By hand from the job: the release's cable leaves the supply, though two of its cores end on
    joints there; controller and fire contact stand there, and are no more in the door's list."""
    drawing = read(svg(site_sheet(index_of(BESIDE), doors=doors)))
    ends = {
        line.data["cable"]: {line.data[end].partition("/")[0] for end in ("from", "to")}
        for line in drawing.lines
        if line.data["kind"] == "cable"
    }
    assert set(ends) == {"D1.lock", "D1.release", "D1.fire"}
    assert ends["D1.release"] == {"D1.controller.COM", "D1"}
    assert ends["D1.fire"] == {"S1.+", "D1.fire.COM"}
    assert {"D1.controller", "D1.fire"} <= set(drawing.devices)
    assert "reader, emergency release" in drawing.texts


def test_all_that_is_fitted_stands_beside_a_door_on_a_phone() -> None:
    """Cables within the door come last in its list, and were cut off."""
    at_door = BESIDE.replace("controller at: supply", "controller at: door")
    drawing = read(svg(site_sheet(index_of(at_door), Form.NARROW)))
    told = " ".join(drawing.texts)
    assert "fire contact" in told
    assert "fire 12 m" in told
    assert not [text for text in drawing.texts if text.endswith("…")]


def test_every_door_and_supply_has_its_block() -> None:
    index = demo("mended")
    drawing = read(svg(site_sheet(index)))
    assert set(index.plan.doors) <= set(drawing.devices)
    assert set(index.plan.supplies) <= set(drawing.devices)


def test_a_part_of_a_site_shows_its_doors_and_what_they_hang_on() -> None:
    drawing = read(svg(site_sheet(demo("mended"), doors=["D1"])))
    assert set(drawing.devices) == {"D1", "S2"}


@pytest.mark.parametrize("doors", [None, ["D2", "D3"]])
def test_a_fire_contact_says_which_doors_it_is_for(doors: list[str] | None) -> None:
    """By hand from the demo's file: cores of D2's, D3's and D5's cables part on the way and end on
    F1, which nothing but a lead led to; of the sheets of some doors it was left out."""
    drawing = read(svg(site_sheet(demo("mended"), doors=doors)))
    assert "F1" in drawing.devices
    assert "for D2, D3, D5" in drawing.texts


def test_what_doors_share_says_where_it_is_to_be_found() -> None:
    """A length along the trunk and a capacity as they stand in the file, not "17.0"."""
    text = """\
latchwork: 1
supplies: {S1: {part: supply 24 V, battery: 2 x 12 V 17 Ah, place: boot room}}
devices: {F1: {part: fire relay, place: porch}}
cables: {trunk: 40 m of 2 x 2.5 mm²}
taps: {K1: {on: trunk, at: 17 m, place: box in the hall}}
wiring: [[S1.+, trunk brown, open], [S1.-, trunk blue, open], [S1.+, lead, F1.COM]]
doors: {D1: {lock: strike 24 V fail-secure, wiring: [[K1.brown, lead, lock.+]]}}
"""
    texts = read(svg(site_sheet(index_of(text)))).texts
    assert {"boot room", "porch", "17 m along trunk", "battery 2 × 17 Ah"} <= set(texts)
    feet = text.replace("latchwork: 1", "latchwork: 1\nsite: {units: US}").replace("17 m", "56 ft")
    assert "56 ft along trunk" in read(svg(door_sheet(index_of(feet), "D1"))).texts


# Elevations, seen from outside.


def door(out_by: OutBy = OutBy.LEVER, **facts: str | int) -> Door:
    return Door("D1", "", out_by=out_by, facts=facts)


def filled(shapes: tuple[Shape, ...]) -> list[tuple[float, float]]:
    """Centres of filled rectangles: locks."""
    found = []
    for shape in shapes:
        if isinstance(shape, Path) and shape.filled:
            xs, ys = ([p[i] for p in shape.points] for i in (0, 1))
            found.append(((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2))
    return found


def hinges(shapes: tuple[Shape, ...]) -> list[float]:
    """Where the dashed lines of the leaves meet: IEC and building drawings put the hinges there
    (common practice)."""
    return [s.points[1][0] for s in shapes if isinstance(s, Path) and s.ink is Ink.DASHED]


@pytest.mark.parametrize(("hand", "side"), [("left", -1), ("right", 1)])
def test_hinges_stand_on_the_hand_and_the_lock_opposite(hand: str, side: int) -> None:
    shapes = elevation(door(hand=hand), {"lock": Fitted("strike", False)}, 0, 0)
    (hinge,) = hinges(shapes)
    ((lock_x, lock_y),) = filled(shapes)
    assert (hinge - WIDE / 2) * side > 0
    assert (lock_x - WIDE / 2) * side < 0
    assert 0.4 * HIGH < lock_y < 0.65 * HIGH


def test_a_magnet_sits_at_the_head_and_a_second_lock_apart() -> None:
    shapes = elevation(
        door(), {"lock": Fitted("magnet", False), "second lock": Fitted("strike", False)}, 0, 0
    )
    (_, head), (_, below) = filled(shapes)
    assert head < 0.15 * HIGH < below


def test_two_leaves_have_hinges_on_both_sides() -> None:
    shapes = elevation(door(leaves=2), {}, 0, 0)
    left, right = sorted(hinges(shapes))
    assert left < WIDE / 4
    assert right > 3 * WIDE / 4


@pytest.mark.parametrize("active", ["left", "right"])
@pytest.mark.parametrize("kind", ["magnet", "strike", "bolt", "motor"])
def test_of_two_leaves_each_has_its_lock(kind: str, active: str) -> None:
    """The glossary's: two locks of one kind each hold a leaf. Both stood on the active one."""
    locks = {slot: Fitted(kind, False) for slot in ("lock", "second lock")}
    two = Door("D1", "", out_by=OutBy.LEVER, facts={"leaves": 2, "active leaf": active})
    shapes = elevation(two, locks, 0, 0)
    (first, head), (second, other_head) = filled(shapes)
    side = -1 if active == "left" else 1
    side *= -1 if kind == "strike" else 1  # in the frame, or the other leaf: past the closing edge
    assert (first - WIDE / 2) * side > 0 > (second - WIDE / 2) * side
    assert head == other_head


@pytest.mark.parametrize("other", [True, False])
def test_the_second_lock_is_drawn_on_the_leaf_that_the_file_says(other: bool) -> None:
    """As the glossary has it: on the other leaf whatever the kinds, or both on one."""
    kinds = ("magnet", "bolt") if other else ("bolt", "bolt")
    locks = {s: Fitted(k, False) for s, k in zip(("lock", "second lock"), kinds, strict=True)}
    facts = {"active leaf": "left", "second lock on": "other leaf" if other else "same leaf"}
    two = Door("D1", "", out_by=OutBy.LEVER, facts=facts if other else {**facts, "leaves": 2})
    shapes = elevation(two, locks, 0, 0)
    assert len(hinges(shapes)) == 2
    (first, _), (second, _) = filled(shapes)
    assert first < WIDE / 2
    assert (second > WIDE / 2) is other


def test_a_panic_bar_lies_across_the_leaf() -> None:
    shapes = elevation(door(OutBy.PANIC_BAR), {}, 0, 0)
    level = [
        s
        for s in shapes
        if isinstance(s, Path) and len(s.points) == 2 and s.points[0][1] == s.points[1][1]
    ]
    bars = [s for s in level if 0.4 * HIGH < s.points[0][1] < 0.65 * HIGH]
    assert max(abs(s.points[1][0] - s.points[0][0]) for s in bars) > 0.6 * WIDE


def test_a_keypad_outside_shows_its_keys_beside_the_closing_edge() -> None:
    shapes = elevation(door(hand="left"), {"controller": Fitted("controller", True)}, 0, 0)
    keys = [s for s in shapes if isinstance(s, Arc) and s.radius < 1]
    assert len(keys) == 9
    assert all(key.centre[0] > WIDE for key in keys)


FED_BY = {"S2": {"D1", "D4"}, "S1": {"D2", "D3", "D5", "D6", "D7"}, "S3": {"D8"}}
"""By hand from the demo's file."""


@pytest.mark.parametrize("name", ["draft", "mended"])
def test_at_the_width_of_a_phone_doors_stand_below_their_supply(name: str) -> None:
    sheet = site_sheet(demo(name), Form.NARROW)
    assert sheet.width == 390.0
    fed: dict[str, set[str]] = {}
    supply = ""
    for block in sorted(sheet.blocks, key=lambda each: each.box[1]):
        if block.id in FED_BY:
            supply = block.id
        elif block.id.startswith("D") and "." not in block.id:
            fed.setdefault(supply, set()).add(block.id)
    assert fed == FED_BY
