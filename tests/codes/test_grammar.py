"""Reading grammars: what is wrong is told with its line, and no key may mean two things."""

from __future__ import annotations

from pathlib import Path

import pytest

from latchwork.codes.errors import CodesError
from latchwork.codes.keypad import vocabulary as voc
from latchwork.codes.keypad.fieldspec import from_keys, to_keys
from latchwork.codes.keypad.grammar import FieldSpec
from latchwork.codes.keypad.read import read_grammar
from latchwork.codes.keypad.shelf import grammar_for, shipped_grammars

HEAD = """latchwork grammar: 1
name: tiny
keys: 0 1 2 3 4 5 6 7 8 9 A B OK
start: service
times out: 20
places: 1 to 50
factory codes: {installer: "4711"}
signals:
  key: {hear: click}
  ok: {hear: long}
  error: {hear: low}
settings:
  relay 1 time: {from factory: 5, takes: 1 to 99}
fields:
  installer: {digits: 4}
  place: {digits: 2}
  pin: {digits: 4 to 6}
  card: {input: card}
  count: {digits: 2}
  relay 1 time: {digits: 2}
  relay: {choices: {1: "1", 2: "2"}}
states:
  service:
    shows: red
    idle: yes
    steps:
      - {keys: "A {installer} OK", to: programming}
  programming:
    shows: green
    steps:
      - {keys: "OK OK", to: service}
"""


def tiny(*steps: str) -> str:
    return HEAD + "".join(f"      - {step}\n" for step in steps)


def problems(text: str) -> str:
    with pytest.raises(CodesError) as caught:
        read_grammar(text.encode(), "tiny.yaml")
    return str(caught.value)


def test_the_tiny_grammar_is_good() -> None:
    grammar = read_grammar(tiny("{keys: 'B {place} {pin} OK', does: add PIN}").encode(), "t.yaml")
    assert grammar.can("add PIN")
    assert [e.line for e in grammar.edges] == [27, 31, 32]


def test_three_are_shipped_and_together_say_everything() -> None:
    grammars = shipped_grammars().values()
    assert len(grammars) == 3
    for operation in voc.OPS:
        assert any(g.can(operation) for g in grammars), operation
    for name in voc.SETTINGS:
        assert any(name in g.settings for g in grammars), name
    for name in voc.FIELDS:
        assert any(name in g.fields for g in grammars), name


@pytest.mark.parametrize(
    ("steps", "said"),
    [
        (["{keys: 'OK OK'}"], "has the same keys as another step (line 31)"),
        (["{keys: 'OK'}"], "begins with all the keys of another step"),
        (["{keys: 'OK OK A'}"], "begins with all the keys of another step"),
        (
            ["{keys: '{place} OK', does: delete place}", "{keys: '1 OK'}"],
            "key 1 could also be the first of place",
        ),
        (
            ["{keys: '1 OK'}", "{keys: '{place} OK', does: delete place}"],
            "key 1 could also be the first of place",
        ),
        (
            ["{keys: '{place} OK', does: delete place}", "{keys: '{count} A'}"],
            "the keys here could be place or count",
        ),
        (["{keys: 'B {place} {pin}', does: add PIN}"], "has several lengths and no key ends it"),
        (
            ["{keys: 'B {pin} {place} OK', does: add PIN}"],
            "nothing tells where pin ends and place begins",
        ),
        (
            ["{keys: 'B {place} {pin} 3', does: add PIN}"],
            "could be one more of pin, or the end of it",
        ),
        (["{keys: 'B [X] OK'}", "{keys: 'B [Y] A'}"], "shows something else after the same keys"),
    ],
)
def test_keys_that_mean_two_things(steps: list[str], said: str) -> None:
    text = problems(tiny(*steps))
    assert said in text
    assert text.startswith("tiny.yaml:3")


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("grammar: 1", "grammar: 2", "found 2, expected a number from 1 to 1"),
        ("start: service", "start: programming", "start: found programming, expected a state that"),
        ("to: programming", "to: programing", "expected a known name; the nearest is programming"),
        ("places: 1 to 50", "places: 50", "places: found 50, expected a span"),
        ("{digits: 4 to 6}", "{digits: 6 to 4}", "found 6 to 4, expected a number of digits"),
        ("installer: {digits", "instaler: {digits", "the nearest is installer"),
        ("relay 1 time: {from", "relay 1 tmie: {from", "the nearest is relay 1 time"),
        ("from factory: 5", "from factory: 500", "found 500, expected a number from 1 to 99"),
        ("  error: {hear: low}\n", "", "signals.error: found nothing"),
        ("keys: 0 1", "keys: 1 1", "no keys, or one twice"),
        ('{installer: "4711"}', "{}", "expected installer among the factory codes"),
        ("{input: card}", "{input: iris}", "found iris, expected card or finger"),
        ('1: "1", 2', '1: "1", C', "found C, expected one of 0 1 2"),
        ("idle: yes", "idle: maybe", "found maybe, expected yes or no"),
        ("name: tiny", 'name: "t\\e[2J"', "tiny.yaml:2: found the character U+001B, expected"),
        ("hear: long", 'hear: "l\\u202E"', "the character U+202E, expected printable"),
    ],
)
def test_what_is_wrong_is_told(old: str, new: str, said: str) -> None:
    assert old in HEAD
    assert said in problems(HEAD.replace(old, new))


@pytest.mark.parametrize(
    ("step", "said"),
    [
        ("{keys: 'B {place}', does: delete plaice}", "the nearest is delete place"),
        ("{keys: 'B OK', does: delete place}", "{place} keyed, or said by with"),
        ("{keys: 'B Z'}", "found Z, expected one of"),
        ("{keys: 'B {plaice}'}", "the nearest is place"),
        ("{keys: 'B', with: {kind: guest}}", "normal, visitor, single use, duress"),
        ("{keys: 'B', signal: chime}", "found chime"),
        ("{keyes: 'B'}", "the nearest is keys"),
        ("{keys: '[X] B'}", "something shown before the first key"),
    ],
)
def test_a_wrong_step_is_told(step: str, said: str) -> None:
    assert said in problems(tiny(step))


def test_all_problems_are_told_at_once() -> None:
    text = problems(HEAD.replace("places: 1 to 50", "places: x").replace("idle: yes", "idle: z"))
    assert "places" in text
    assert "idle" in text
    assert [int(line.split(":")[1]) for line in text.splitlines()] == [6, 25]


@pytest.mark.parametrize("data", [b"", b"\xff\xfe", b"- a\n", b"a: &x 1\nb: *x\n", b"a: [", b"x"])
def test_what_is_no_grammar(data: bytes) -> None:
    with pytest.raises(CodesError, match=r"g\.yaml"):
        read_grammar(data, "g.yaml")


def test_an_own_grammar_goes_before_a_shipped_one(tmp_path: Path) -> None:
    (tmp_path / "grammars").mkdir()
    (tmp_path / "grammars" / "a.yaml").write_text(HEAD.replace("name: tiny", "name: menus"))
    assert len(grammar_for(tmp_path, "menus").states) == 2
    assert grammar_for(None, "menus").display
    with pytest.raises(CodesError, match="shipped are case button, letter pairs, menus"):
        grammar_for(tmp_path, "nobody")


@pytest.mark.parametrize(
    ("spec", "value", "keys"),
    [
        (FieldSpec("place", "number", 3, 3), "17", "017"),
        (FieldSpec("place", "number", 1, 4), "17", "17"),
        (FieldSpec("pin", "text", 4, 8), "0412", "0412"),
        (FieldSpec("date", "date", 6, 6, "DDMMYY"), "2026-12-31", "311226"),
        (FieldSpec("date", "date", 8, 8, "YYYYMMDD"), "2026-12-31", "20261231"),
        (FieldSpec("from", "time", 4, 4, "HHMM"), "07:30", "0730"),
        (FieldSpec("kind", "choice", choices={"1": "normal", "2": "duress"}), "duress", "2"),
    ],
)
def test_values_to_keys_and_back(spec: FieldSpec, value: str, keys: str) -> None:
    found = to_keys(spec, value)
    assert found is not None
    assert "".join(found) == keys
    assert from_keys(spec, keys) == value


@pytest.mark.parametrize(
    ("spec", "value"),
    [
        (FieldSpec("place", "number", 2, 2), "100"),
        (FieldSpec("pin", "text", 6, 6), "4092"),
        (FieldSpec("date", "date", 6, 6, "DDMMYY"), "1999-12-31"),
        (FieldSpec("kind", "choice", choices={"1": "normal"}), "duress"),
    ],
)
def test_values_a_field_cannot_say(spec: FieldSpec, value: str) -> None:
    assert to_keys(spec, value) is None


@pytest.mark.parametrize(("pattern", "keys"), [("DDMMYY", "310226"), ("DDMMYY", "001226")])
def test_dates_there_are_not(pattern: str, keys: str) -> None:
    assert from_keys(FieldSpec("date", "date", 6, 6, pattern), keys) is None


@pytest.mark.parametrize("keys", ["2500", "1260", "2401"])
def test_times_there_are_not(keys: str) -> None:
    assert from_keys(FieldSpec("from", "time", 4, 4, "HHMM"), keys) is None
