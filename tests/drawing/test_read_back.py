"""Every drawing says exactly what is wired: read back from its data and from its geometry."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest

from latchwork.drawing.door import door_sheet
from latchwork.drawing.index import Index
from latchwork.drawing.overlay import Overlay
from latchwork.drawing.sheet import Form
from latchwork.drawing.svg import svg
from latchwork.wiring import Wiring
from tests.drawing.jobs import SEEDS, demo, index_of, site_of
from tests.drawing.reading import NS, Drawing, read

Joined = tuple[str, frozenset[str]]


def all_joined(wiring: Wiring) -> set[Joined]:
    """Every core, lead and bridge of a site: its id and the two nodes it joins."""
    found = {(wire.id, frozenset((wire.start, wire.end))) for wire in wiring.conductors}
    found |= {(wire.id, frozenset((wire.start, wire.end))) for wire in wiring.leads}
    return found | {(wire.id, frozenset((wire.a, wire.b))) for wire in wiring.bridges}


def of_door(wiring: Wiring, door: str) -> set[Joined]:
    """Those that belong to a door, or touch one of its own devices."""
    own = {wire.id for wire in wiring.conductors if wire.door == door}
    own |= {wire.id for wire in wiring.leads if wire.door == door}
    own |= {wire.id for wire in wiring.bridges if wire.door == door}
    devices = {d.id for d in wiring.plan.devices.values() if d.door == door}
    return {
        (name, ends)
        for name, ends in all_joined(wiring)
        if name in own or any(node.rpartition(".")[0] in devices for node in ends)
    }


def said(drawing: Drawing) -> set[Joined]:
    """What the wires say of themselves."""
    return {
        (line.data["wire"], frozenset((line.data["from"], line.data["to"])))
        for line in drawing.lines
    }


def seen(drawing: Drawing) -> set[Joined]:
    """What the wires' ends touch."""
    found = set()
    for line in drawing.lines:
        ends = [drawing.touched(point) for point in (line.points[0], line.points[-1])]
        assert all(len(names) == 1 for names in ends), (line.data, ends)
        found.add((line.data["wire"], frozenset(name for names in ends for name in names)))
    return found


def check(index: Index, door: str, form: Form) -> None:
    drawing = read(svg(door_sheet(index, door, form)))
    shown = said(drawing)
    assert len(drawing.lines) == len(shown)
    assert shown == seen(drawing)
    whole, own = all_joined(index.wiring), of_door(index.wiring, door)
    assert own <= shown <= whole
    others = {d.id for d in index.plan.devices.values() if d.door not in ("", door)}
    beyond = {node for _, ends in shown - own for node in ends}
    assert not {node for node in beyond if node.rpartition(".")[0] in others}


@pytest.mark.parametrize("form", Form)
@pytest.mark.parametrize("job", ["draft", "mended"])
def test_demo_doors_read_back(job: str, form: Form) -> None:
    index = demo(job)
    for door in index.plan.doors:
        check(index, door, form)


@pytest.mark.parametrize("form", Form)
@pytest.mark.parametrize("seed", SEEDS)
def test_generated_doors_read_back(seed: int, form: Form) -> None:
    index = site_of(seed)
    for door in index.plan.doors:
        check(index, door, form)


def test_the_way_to_the_supply_is_drawn() -> None:
    """D3 of the mended demo hangs on S1 output 2 by its own cable and on S1 output 1 by the fire
    contact F1, whose feed belongs to another door."""
    index = demo("mended")
    shown = {ends for _, ends in said(read(svg(door_sheet(index, "D3"))))}
    assert frozenset(("S1.1", "F1.COM")) in shown
    assert frozenset(("S1.2", "D3.controller.+")) in shown


TWO = """\
latchwork: 1
supplies: {S1: {part: "supply 24 V, eight outputs"}, S2: supply 24 V}
cables: {trunk: 20 m of 2 x 2.5 mm²}
taps: {K1: {on: trunk, at: 8 m}}
wiring: [[S1.2, trunk brown, open], [S1.-, trunk blue, open]]
usual: {lock: strike 24 V fail-secure, controller: controller, controller at: door}
doors:
  D1: {supply: S1 out 1, runs: {power: 12 m of 2 x 1.0 mm²}}
  D2: {supply: S2, runs: {power: 12 m of 2 x 1.0 mm²}}
  D3:
    wiring: {power: [[K1.brown, lead, controller.+], [K1.blue, lead, controller.-]]}
"""
"""D1 on one output of eight, D2 alone on a supply of two screws, D3 by a tap along a cable."""


ONE = TWO.partition("cables:")[0] + (
    "usual: {lock: strike 24 V fail-secure, controller: controller, controller at: door}\n"
    "doors: {D1: {supply: S1 out 1, runs: {power: 12 m of 2 x 1.0 mm²}}}\n"
)
"""Nothing is on the other outputs."""


@pytest.mark.parametrize(
    ("job", "door", "thing", "told"),
    [
        (TWO, "D1", "S1", True),
        (TWO, "D2", "S2", False),
        (TWO, "D3", "K1", True),
        (ONE, "D1", "S1", False),
    ],
)
def test_a_thing_says_that_more_is_wired_to_it_than_is_drawn(
    job: str, door: str, thing: str, *, told: bool
) -> None:
    """Of D1's supply the trunk is left out, of D3's tap the cable beyond; D2's has no more."""
    assert ("Other wires not shown" in texts_of(job, door, thing)) is told


def texts_of(text: str, door: str, thing: str) -> list[str]:
    """What is written in a thing's block."""
    root = ET.fromstring(svg(door_sheet(index_of(text), door)))
    (group,) = (g for g in root.iter(f"{NS}g") if g.attrib.get("data-device") == thing)
    return ["".join(each.itertext()) for each in group.iter(f"{NS}text")]


def test_wires_say_their_core_and_letters() -> None:
    index = demo("mended")
    lines = {line.data["wire"]: line for line in read(svg(door_sheet(index, "D2"))).lines}
    brown = lines["D2.power.brown"]
    assert (brown.data["cable"], brown.data["core"], brown.data["letters"]) == (
        "D2.power",
        "brown",
        "BN",
    )
    assert brown.means.endswith("22 m")


def test_an_overlay_changes_no_connection() -> None:
    index = demo("mended")
    sheet = door_sheet(index, "D2")
    amps = {wire.id: 0.25 for wire in sheet.wires}
    volts = {pin.id: 24.0 for block in sheet.blocks for pin in block.pins}
    painted = read(svg(sheet, Overlay(volts, amps, {"D2.controller.contact NO"})))
    assert said(painted) == seen(painted) == said(read(svg(sheet)))
