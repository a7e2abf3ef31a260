"""Names are text and nothing else, whatever is in them."""

from __future__ import annotations

import io
import unicodedata
import xml.etree.ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from latchwork.drawing.door import door_sheet
from latchwork.drawing.sheet import Form
from latchwork.drawing.site import site_sheet
from latchwork.drawing.svg import svg
from latchwork.drawing.text import clean, fit, label, width
from tests.drawing.jobs import index_of
from tests.drawing.reading import NS, read
from tests.drawing.test_geometry import labels, overlap

JOB = """\
latchwork: 1
site: {{name: {name}}}
supplies: {{S1: {{part: supply 24 V}}}}
doors:
  D1:
    name: {name}
    lock: strike 24 V fail-secure
    controller: controller
    exit: button
    runs: {{power: 18 m of 2 x 1.0 mm²}}
"""
NAMES = [
    "Καφενείο – πίσω πόρτα",
    "الباب الخلفي",
    "דלת אחורית 2",
    "裏口・倉庫",
    "ประตูหลัง",
    "दरवाज़ा",
    "🚪🔒👩🏽‍🔧",
    '<script>alert("1")</script> & <b>',
    "]]> <!-- --> &amp; &#x41; ${x} {door} %s",
    "'=1+1 @SUM(A1)' #set page(width: 1cm)",
    "n" * 200,
    "倉" * 200,
    "a\u202eright to left\u202c b",
    "e\u0301" * 60,
]


def yaml_text(name: str) -> str:
    """The name as a quoted YAML scalar."""
    import json

    return json.dumps(name, ensure_ascii=False)


@pytest.mark.parametrize("form", Form)
@pytest.mark.parametrize("name", NAMES, ids=lambda n: ascii(n[:12]))
def test_any_name_is_text(name: str, form: Form) -> None:
    index = index_of(JOB.format(name=yaml_text(name)))
    for sheet in (door_sheet(index, "D1", form), site_sheet(index, form)):
        drawing = read(svg(sheet))
        assert drawing.root is not None
        tags = {each.tag.removeprefix(NS) for each in drawing.root.iter()}
        assert tags <= {"svg", "g", "path", "rect", "text", "tspan", "title", "desc", "style"}
        title = drawing.root.find(f"{NS}title")
        assert title is not None
        assert title.text is not None
        assert clean(name) in title.text
        found = labels(sheet)
        pairs = ((a, b) for n, a in enumerate(found) for b in found[n + 1 :])
        assert not any(overlap(a.box, b.box) for a, b in pairs)
        assert all(each.box[2] <= sheet.width + 0.01 for each in found)


def test_what_turns_text_about_is_shown_as_that() -> None:
    """Else a door could be drawn as another: UAX 9, tables of explicit embeddings and isolates."""
    assert clean("a\u202eb\u202cc\u2067d\u2069") == "a\ufffdb\ufffdc\ufffdd\ufffd"
    assert clean("שער 7") == "שער 7"


@given(st.text(max_size=120))
@settings(max_examples=200, deadline=None)
def test_cleaned_text_is_fit_for_a_file(text: str) -> None:
    """XML 1.0 (section 2.2) names the characters a document may hold; a parser must agree."""
    shown = clean(text)
    escaped = shown.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    parsed = ET.parse(io.StringIO(f"<t>{escaped}</t>")).getroot().text or ""
    assert parsed == shown
    assert clean(shown) == shown
    assert not any(unicodedata.category(char) == "Cs" for char in shown)


@given(st.text(max_size=80), st.floats(20, 300))
@settings(max_examples=200, deadline=None)
def test_shortened_text_fits_and_begins_alike(text: str, room: float) -> None:
    whole = clean(text)
    shown = fit(whole, 10.0, room)
    assert width(shown, 10.0) <= room or shown == "…"
    if shown != whole:
        assert shown.endswith("…")
        assert whole.startswith(shown[:-1])


def test_shortened_text_is_whole_in_its_title() -> None:
    from latchwork.drawing.sheet import Role

    made = label("a long name that does not fit", (0.0, 0.0), Role.PART, 60.0)
    assert made.text.endswith("…")
    assert made.full == "a long name that does not fit"


def test_letters_of_a_core_are_never_shortened() -> None:
    from latchwork.drawing.sheet import Role

    made = label("a cable of long name", (0.0, 0.0), Role.CORE, 30.0, strong="GNYE")
    assert made.strong == "GNYE"


PAIRS = """
latchwork: 1
supplies: {S1: {part: supply 24 V, outputs: {1: {fuse: 1.0 A}}}}
doors:
  D1:
    lock: strike 24 V fail-secure
    controller: controller
    exit: exit button
    supply: S1 out 1
    runs: {power: 9 m of 2 x 1.0 mm², exit: 9 m of category cable}
    found: [{break: exit blue, at: 4 m}]
"""


def test_every_core_of_a_cable_is_told_on_a_phone() -> None:
    """Of a category cable six cores are spare: more than one line of the column holds."""
    told = read(svg(door_sheet(index_of(PAIRS), "D1", Form.NARROW))).texts
    cells = " ".join(" ".join(told).split())
    for letters in ("OG", "WH/OG", "GN", "WH/GN", "BN", "WH/BN"):
        assert f" {letters} " in f" {cells} "
    assert not [text for text in told if "…" in text and "WH" in text]


LONG_NAME = """\
latchwork: 1
supplies: {S1: {part: supply 24 V}}
devices: {waiting-room-north-west-controller-no-01: {part: "controller, two doors"}}
doors:
  D1:
    lock: strike 24 V fail-secure
    controller: waiting-room-north-west-controller-no-01 way 1
    controller at: supply
"""


@pytest.mark.parametrize("form", Form)
def test_a_lead_to_a_long_name_tells_the_terminal(form: Form) -> None:
    """Three leads from the supply to one controller all said "waiting-room-north-west-c…"."""
    drawn = door_sheet(index_of(LONG_NAME), "D1", form)
    leads = [wire for wire in drawn.wires if {"S1.+", "S1.-"} & {wire.start, wire.end}]
    texts = [label.text for wire in leads for label in wire.labels]
    for terminal in ("+", "−", "COM"):
        assert any(text.endswith(f"… {terminal}") for text in texts), terminal


@pytest.mark.parametrize("form", Form)
def test_the_two_sides_of_a_break_are_told_apart(form: Form) -> None:
    told = read(svg(door_sheet(index_of(PAIRS), "D1", form))).texts
    assert {"blue, near", "blue, far"} <= set(told)


def test_a_place_along_a_cable_is_told_from_the_device_that_it_is_called_after() -> None:
    """A cable has the name of what it serves: "On lock" was read as a box on the lock."""
    text = JOB.format(name="Store").replace("runs: {", "runs: {lock: 4 m of 2 x 1.0 mm², ")
    drawn = svg(door_sheet(index_of(text + "    found: [{break: lock brown, at: 1 m}]\n"), "D1"))
    assert {"Lock", "Along lock cable"} <= set(read(drawn).texts)
