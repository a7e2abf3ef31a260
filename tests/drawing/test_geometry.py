"""Nothing runs through anything: wires, devices and texts keep apart, crossings are hopped."""

from __future__ import annotations

import random
from collections.abc import Callable
from functools import cache
from itertools import combinations, pairwise

import pytest

from latchwork.drawing.door import door_sheet
from latchwork.drawing.route import End, Net, crossings, ordered, spread
from latchwork.drawing.sheet import Box, Form, Label, Point, Sheet, Wire
from latchwork.drawing.site import site_sheet
from tests.drawing.jobs import SEEDS, demo, site_of

Segment = tuple[Point, Point]


SOURCES = ["draft", "mended", *SEEDS]


@cache
def sheets(source: str | int, form: Form) -> tuple[Sheet, ...]:
    """A site's drawing and those of all its doors: of a demo job, or of the site of a seed."""
    index = site_of(source) if isinstance(source, int) else demo(source)
    return (site_sheet(index, form), *(door_sheet(index, door, form) for door in index.plan.doors))


def each_sheet(check: Callable[[Sheet], None]) -> Callable[[str | int, Form], None]:
    """Run a check on every sheet of every source, in both forms."""

    @pytest.mark.parametrize("form", Form)
    @pytest.mark.parametrize("source", SOURCES)
    def checked(source: str | int, form: Form) -> None:
        for sheet in sheets(source, form):
            check(sheet)

    checked.__doc__ = check.__doc__
    return checked


def segments(wire: Wire) -> list[Segment]:
    return list(pairwise(wire.points))


def enters(segment: Segment, box: Box) -> bool:
    """Whether an upright or level piece comes into a rectangle, its edge left out."""
    (x0, y0), (x1, y1) = segment
    left, top, right, bottom = box
    return (
        min(x0, x1) < right - 0.01
        and max(x0, x1) > left + 0.01
        and min(y0, y1) < bottom - 0.01
        and max(y0, y1) > top + 0.01
    )


def labels(sheet: Sheet) -> list[Label]:
    """Every text of a sheet that is not empty."""
    found = [*sheet.labels, *(zone.label for zone in sheet.zones)]
    for block in sheet.blocks:
        found += [*block.labels, *(pin.label for pin in block.pins)]
    for wire in sheet.wires:
        found += wire.labels
    return [label for label in found if label.text or label.strong]


def within(inner: Box, outer: Box) -> bool:
    left, top = inner[0] >= outer[0] - 0.01, inner[1] >= outer[1] - 0.01
    return left and top and inner[2] <= outer[2] + 0.01 and inner[3] <= outer[3] + 0.01


def overlap(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


@each_sheet
def test_wires_turn_at_right_angles_only(sheet: Sheet) -> None:
    for wire in sheet.wires:
        assert all(a[0] == b[0] or a[1] == b[1] for a, b in segments(wire))


@each_sheet
def test_no_wire_enters_a_device(sheet: Sheet) -> None:
    for wire in sheet.wires:
        for block in sheet.blocks:
            assert not any(enters(segment, block.box) for segment in segments(wire)), wire.id


@each_sheet
def test_no_wire_crosses_a_text(sheet: Sheet) -> None:
    boxes = [label.box for label in labels(sheet)]
    for wire in sheet.wires:
        for segment in segments(wire):
            assert not any(enters(segment, box) for box in boxes), wire.id


@each_sheet
def test_no_two_texts_overlap(sheet: Sheet) -> None:
    for a, b in combinations(labels(sheet), 2):
        assert not overlap(a.box, b.box), (a.text, b.text)


@each_sheet
def test_no_text_leaves_the_sheet_or_its_device(sheet: Sheet) -> None:
    for label in labels(sheet):
        assert within(label.box, (0.0, 0.0, sheet.width, sheet.height)), label.text
    for block in sheet.blocks:
        for label in (*block.labels, *(pin.label for pin in block.pins)):
            if not label.text:
                continue
            assert within(label.box, block.box), label.text


@each_sheet
def test_no_two_devices_overlap(sheet: Sheet) -> None:
    for a, b in combinations(sheet.blocks, 2):
        assert not overlap(a.box, b.box), (a.id, b.id)


@each_sheet
def test_no_two_wires_lie_on_each_other(sheet: Sheet) -> None:
    """Two wires may cross at a point, never share a stretch."""
    for one, other in combinations(sheet.wires, 2):
        for (a, b), (c, d) in ((s, t) for s in segments(one) for t in segments(other)):
            for along, across in ((0, 1), (1, 0)):
                if a[across] == b[across] == c[across] == d[across]:
                    low = max(min(a[along], b[along]), min(c[along], d[along]))
                    high = min(max(a[along], b[along]), max(c[along], d[along]))
                    assert high <= low, (one.id, other.id)


@each_sheet
def test_every_crossing_is_hopped(sheet: Sheet) -> None:
    """Where a level piece crosses another wire's upright it hops, and it hops nowhere else."""
    for wire in sheet.wires:
        covered = 0
        for piece, ((x0, y), (x1, y1)) in enumerate(segments(wire)):
            if y != y1:
                continue
            spans = [(h.from_x, h.to_x) for h in wire.hops if h.piece == piece]
            hopped = set()
            for other in sheet.wires:
                for (ux, top), (vx, bottom) in segments(other):
                    if other is wire or ux != vx or not min(x0, x1) < ux < max(x0, x1):
                        continue
                    if min(top, bottom) < y < max(top, bottom):
                        over = [span for span in spans if span[0] < ux < span[1]]
                        assert len(over) == 1, (wire.id, other.id)
                        hopped.add(over[0])
            assert hopped == set(spans)
            covered += len(spans)
        assert covered == len(wire.hops)


@each_sheet
def test_cores_of_a_cable_run_side_by_side(sheet: Sheet) -> None:
    """Between the uprights of one cable's cores stands no upright of another wire beside them."""
    cables = {wire.cable for wire in sheet.wires if wire.core}
    for cable in cables:
        cores = [wire for wire in sheet.wires if wire.cable == cable]
        xs = [wire.points[1][0] for wire in cores]
        rows = [y for wire in cores for y in (wire.points[1][1], wire.points[2][1])]
        for other in sheet.wires:
            if other.cable == cable or not min(xs) < other.points[1][0] < max(xs):
                continue
            top, bottom = sorted((other.points[1][1], other.points[2][1]))
            assert bottom < min(rows) or max(rows) < top, (cable, other.id)


def test_a_phone_sheet_is_as_wide_as_a_phone() -> None:
    """390 units where the doors of the demo are drawn for a phone; none needs to be panned."""
    index = demo("mended")
    widths = [door_sheet(index, door, Form.NARROW).width for door in index.plan.doors]
    assert max(widths) == 390.0


def test_demo_doors_are_legible_on_an_a4_page() -> None:
    """Scaled to the 190 by 277 mm between margins of 10 mm on A4 (ISO 216), the smallest text of a
    door is 6 point, 2.1 mm (common practice, no source)."""
    for job in ("draft", "mended"):
        index = demo(job)
        for door in index.plan.doors:
            sheet = door_sheet(index, door)
            scale = min(190 / sheet.width, 277 / sheet.height)
            assert min(label.size for label in labels(sheet)) * scale >= 2.1


# The routing itself, against counting crossings on paper.


def random_nets(rng: random.Random, count: int) -> list[Net]:
    rows = rng.sample(range(0, 40), 2 * count)
    ends = [End(16.0 * row + (8.0 if row % 2 else 0.0), bool(row % 2)) for row in rows]
    return [Net(ends[2 * n], ends[2 * n + 1], f"b{n}") for n in range(count)]


def drawn_crossings(nets: list[Net], tracks: tuple[float, ...], width: float) -> int:
    """Level pieces against uprights, one by one."""
    found = 0
    for i, net in enumerate(nets):
        for end in (net.a, net.b):
            low, high = (tracks[i], width + 99) if end.right else (-99.0, tracks[i])
            for j, other in enumerate(nets):
                if j != i and low < tracks[j] < high and other.top < end.y < other.bottom:
                    found += 1
    return found


def test_crossings_of_two_wires_are_those_on_paper() -> None:
    rng = random.Random(7)
    for _ in range(300):
        nets = random_nets(rng, 2)
        for order in ((0.0, 8.0), (8.0, 0.0)):
            pair = nets if order[0] < order[1] else nets[::-1]
            assert crossings(*pair) == drawn_crossings(nets, order, 20)


def test_the_order_of_tracks_is_near_the_best() -> None:
    """All orders of five wires tried one by one (brute force): at most one crossing more."""
    from itertools import permutations

    rng = random.Random(11)
    lost = 0
    for _ in range(60):
        nets = random_nets(rng, 5)
        best = min(
            sum(crossings(nets[a], nets[b]) for a, b in combinations(order, 2))
            for order in permutations(range(5))
        )
        routed = spread(ordered(nets), nets, 200.0)
        lost += drawn_crossings(nets, routed.tracks, routed.width) - best
    assert lost <= 3


@each_sheet
def test_a_sheath_lies_round_all_cores_of_its_cable_and_no_other(sheet: Sheet) -> None:
    for jacket in sheet.jackets:
        left, top, right, bottom = jacket.box
        for wire in sheet.wires:
            x = wire.points[1][0]
            low, high = sorted((wire.points[1][1], wire.points[2][1]))
            beside = left < x < right and low <= top and bottom <= high
            if wire.cable == jacket.cable:
                assert beside, wire.id
            else:
                assert not left < x < right or high <= top or low >= bottom, wire.id
