"""A user's own parts: added to the catalogue, or every problem told at once with its place."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from latchwork.elements import Bolt, Certainty, Resistor
from latchwork.job import SLOTS
from latchwork.parts import PartsErrors, catalogue

OWN = """\
parts:
  gate magnet:
    kind: magnet
    about: the big one at the gate
    also: [gate lock]
    slots: [lock]
    source: data sheet of the gate magnet, page 2
    volts: 24 V
    current: 0.31 A ± 5 %
    holds down to: {is: 21 V, source: measured on the bench, certainty: measured}
    holding force: 400 kg
  quiet strike:
    like: strike 24 V fail-secure
    current: assumed 0.09 A
    monitored: yes
"""


def test_own_parts_stand_beside_the_others() -> None:
    parts = catalogue().with_parts(OWN, "my-parts.yaml")
    part = parts.find("Gate lock", "lock").resolve()
    assert part.name == "gate magnet"
    coil = next(e for e in part.elements if isinstance(e, Resistor))
    assert coil.ohm.value == pytest.approx(24 / 0.31, rel=0.01)
    assert next(r for r in part.rules if isinstance(r, Bolt)).surely_hold_v == 21.0
    assert parts.find("magnet 24 V").name == "magnet 24 V"
    assert "gate magnet" not in catalogue().names()


def test_figures_keep_source_and_certainty() -> None:
    parts = catalogue().with_parts(OWN, "my-parts.yaml")
    figures = parts.get("gate magnet").figures
    assert figures["current"].source == "data sheet of the gate magnet, page 2"
    assert figures["current"].certainty is Certainty.DATA_SHEET
    assert figures["holds down to"].source == "measured on the bench"
    assert figures["holds down to"].certainty is Certainty.MEASURED
    assert parts.get("quiet strike").figures["current"].certainty is Certainty.ASSUMED


def test_what_is_not_said_is_as_in_the_part_it_is_like() -> None:
    parts = catalogue().with_parts(OWN, "my-parts.yaml")
    quiet, plain = (
        parts.get("quiet strike").resolve(),
        parts.get("strike 24 V fail-secure").resolve(),
    )
    assert quiet.has_terminal("MON1")
    assert quiet.figures["surely_pick_v"] == plain.figures["surely_pick_v"]
    assert quiet.figures["current_a"].value == pytest.approx(0.09)


def test_an_own_part_wins_over_one_of_the_same_name() -> None:
    text = "parts: {controller: {kind: controller, like: controller 24 V, relay time: 9 s}}"
    part = catalogue().with_parts(text, "my-parts.yaml").find("controller").resolve()
    assert part.figures["relay_s"].value == 9.0
    assert catalogue().find("controller").resolve().figures["relay_s"].value == 5.0


def test_an_own_part_may_be_like_another_own_part() -> None:
    text = "parts:\n  one: {like: two, relay time: 7 s}\n  two: {like: controller}\n"
    parts = catalogue().with_parts(text, "my-parts.yaml")
    assert parts.find("one").resolve().figures["relay_s"].value == 7.0


@pytest.mark.parametrize(
    ("line", "found", "expected"),
    [
        ("slots: [lokc]", "lokc", "lock"),
        ("slots: kontroller", "kontroller", "controller"),
        ("slot: [lock]", "slot", "a word that a strike takes, such as slots"),
        ("abuot: the big one", "abuot", "a word that a strike takes, such as about"),
        ("lik: strike", "lik", "a word that a strike takes, such as like"),
    ],
)
def test_a_misspelt_slot_or_head_names_the_nearest(line: str, found: str, expected: str) -> None:
    text = f"parts:\n  mine:\n    kind: strike\n    volts: 24 V\n    power: 4 W\n    {line}\n"
    with pytest.raises(PartsErrors) as caught:
        catalogue().with_parts(text, "my-parts.yaml")
    (problem,) = caught.value.problems
    assert (problem.line, problem.found, problem.expected) == (6, found, expected)


def test_every_slot_of_a_door_has_a_part_made_for_it() -> None:
    # So that the slots of an own part can be held against those of the catalogue.
    text = "".join(f"  p{n}: {{like: button, slots: [{s}]}}\n" for n, s in enumerate(SLOTS))
    catalogue().with_parts(f"parts:\n{text}", "my-parts.yaml")


def test_a_text_without_parts_adds_nothing() -> None:
    for text in ("", "# nothing yet\n", "parts: {}"):
        assert catalogue().with_parts(text, "my-parts.yaml").names() == catalogue().names()


def problems(text: str) -> list[tuple[int, str, str, str]]:
    with pytest.raises(PartsErrors) as told:
        catalogue().with_parts(text, "my-parts.yaml")
    assert all(p.file == "my-parts.yaml" for p in told.value.problems)
    assert all(p.expected for p in told.value.problems)
    return [(p.line, p.field, p.found, p.code) for p in told.value.problems]


def test_every_problem_is_told_with_its_line() -> None:
    text = """\
parts:
  a:
    kind: magnit
  b:
    like: strike 24 V fail-securr
  c:
    kind: magnet
    volts: 24
    curent: 0.3 A
    energised: sometimes
    holds down to: 20 A
  d:
    about: nothing else
  e:
    kind: magnet
    volts: 24 V
extra: 1
"""
    assert problems(text) == [
        (3, "parts.a.kind", "magnit", "parts.kind"),
        (5, "parts.b.like", "strike 24 V fail-securr", "parts.like"),
        (8, "parts.c.volts", "24", "quantity.no-unit"),
        (9, "parts.c.curent", "curent", "part.word"),
        (10, "parts.c.energised", "sometimes", "part.choice"),
        (11, "parts.c.holds down to", "20 A", "quantity.wrong-unit"),
        (13, "parts.d.kind", "nothing", "parts.kind"),
        (15, "parts.e.current", "nothing", "part.missing"),
        (17, "extra", "extra", "parts.field"),
    ]


@pytest.mark.parametrize(
    "text",
    [
        "parts: [a, b]",
        "parts: {a: 1}",
        "- 1",
        "just words",
        "parts: {a: {kind: magnet, volts: {from: 1 V}}}",
        "parts: {a: {kind: magnet, volts: {is: 24 V, source: [x], certainty: perhaps}}}",
        "parts: {a: {kind: [magnet]}}",
        "parts: {a: {like: b}, b: {like: a}}",
        "parts: {a: {like: a}}",
        "parts: {a: {kind: supply, volts: 12 V, gives: 0 V, limit: 0 A, output fuse: 0 A}}",
        "parts: {a: &x {kind: magnet}, b: *x}",
        "parts: {a: !!python/object {}}",
        "parts: {a: {kind: magnet, kind: strike}}",
        "parts:\n\ta: {kind: magnet}",
        "parts: {a: {kind: magnet",
        "\x00\x01\x02",
        "{" * 5000,
        "[" * 100000,
    ],
)
def test_what_cannot_be_used_is_told(text: str) -> None:
    assert problems(text)


def test_figures_that_no_part_can_have_are_told() -> None:
    for text in (
        "parts: {a: {like: magnet 24 V, current: 0 A}}",
        "parts: {a: {like: magnet 24 V, current: -1 A}}",
        "parts: {a: {like: supply 24 V, battery capacity: 0 Ah}}",
        "parts: {a: {like: fuse 1 A, rating: 0 A}}",
        "parts: {a: {like: controller, needs at least: -3 V}}",
    ):
        assert problems(text)[0][3] == "part.above-zero", text


@pytest.mark.parametrize(
    ("like", "word", "said"),
    [
        # Each of them was taken without a word, and made a part with other screws than were meant.
        ("supply 24 V, four outputs", "outputs", "A, A, B"),
        ("supply 24 V, four outputs", "outputs", "A B"),
        ("supply 24 V, four outputs", "outputs", "A, -"),
        ("supply 24 V, four outputs", "outputs", "_bus, A"),
        ("supply 24 V, four outputs", "output 5 fuse", "2 A"),
        ("release", "poles", "3"),
        ("release", "poles", "0"),
        ("door contact", "poles", "2"),
        ("controller, two doors", "ways", "3"),
    ],
)
def test_screws_that_no_part_has_are_told(like: str, word: str, said: str) -> None:
    text = f"parts:\n  a:\n    like: {like}\n    {word}: '{said}'\n"
    ((_, field, _, _),) = problems(text)
    assert field == f"parts.a.{word}"


def test_thresholds_in_each_others_place_are_told() -> None:
    # A coil holds with less than it picks up at, and lets go with less than it holds at; they were
    # put in order without a word, and one of the two figures was heeded nowhere.
    text = "parts:\n  a:\n    like: magnet 24 V\n    holds down to: 3 V\n    lets go at: 18 V\n"
    assert problems(text) == [(5, "parts.a.lets go at", "18 V", "part.order")]


def test_an_own_part_without_slots_still_wins_in_a_slot() -> None:
    own = "parts: {reader: {like: reader}, door box: {kind: controller, like: controller}}"
    parts = catalogue().with_parts(own, "my-parts.yaml")
    assert parts.find("reader", "reader") is parts.get("reader")
    assert parts.find("door box", "controller").name == "door box"
    bare = "parts: {varistor: {kind: varistor, works up to: 50 V, clamps at: 90 V}}"
    found = catalogue().with_parts(bare, "my-parts.yaml").find("varistor", "diode")
    assert found.figures["works up to"].value == 50.0


def told_with_expected(errors: PartsErrors) -> None:
    assert errors.problems
    assert all(problem.expected for problem in errors.problems)


@settings(max_examples=150, deadline=None)
@given(st.text(alphabet="parts:{}[]kind mag\n\t -&*!|>'\"#0123 VA%,", max_size=120))
def test_junk_text_is_told_or_taken(text: str) -> None:
    try:
        catalogue().with_parts(text, "my-parts.yaml")
    except PartsErrors as errors:
        told_with_expected(errors)


_LEAVES = st.sampled_from(
    ["magnet", "24 V", "-1 A", "0 V", "yes", "strike 24 V fail-secure", "1e9 V", "", "unknown", "2"]
)
_WORDS = st.sampled_from(
    ["kind", "like", "volts", "current", "also", "slots", "source", "certainty", "is", "power"]
)
_TREES = st.recursive(
    _LEAVES, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(_WORDS, inner, max_size=6)
)


@settings(max_examples=60, deadline=None)
@given(st.dictionaries(st.sampled_from(["a", "b", "controller"]), st.dictionaries(_WORDS, _TREES)))
def test_junk_trees_are_told_or_taken(tree: dict[str, object]) -> None:
    import json

    try:
        made = catalogue().with_parts(json.dumps({"parts": tree}), "my-parts.yaml")
    except PartsErrors as errors:
        told_with_expected(errors)
    else:
        for name in tree:
            made.get(name).resolve()


def test_a_row_of_parts_each_like_the_next_has_an_end() -> None:
    def row(count: int) -> str:
        rows = [f"  p{i}: {{like: p{i + 1}}}\n" for i in range(count)]
        return "parts:\n" + "".join(rows) + f"  p{count}: {{like: strike 24 V fail-secure}}\n"

    assert catalogue().with_parts(row(40), "my-parts.yaml").get("p0").kind.name == "strike"
    with pytest.raises(PartsErrors) as told:
        catalogue().with_parts(row(2000), "my-parts.yaml")
    assert told.value.problems[0].expected.startswith("at most 50 parts")
