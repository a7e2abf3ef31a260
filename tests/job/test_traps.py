"""YAML's quiet traps, each told in plain words instead of being read as something else."""

from __future__ import annotations

import pytest

from latchwork.job import JobErrors, read_job_text
from tests.job.samples import HEAD, door, problems, read

REFUSED = [
    # text, code, line, found, a part of what is expected
    ("cables:\n  main: 3 m of category cable # 3\n", "trap.comment", 3, "category cable", '# 3"'),
    ("cables:\n  main # 3: 31 m of category cable\n", "trap.comment", 3, "main", '"main # 3:'),
    ("wiring:\n  - [S1.+, main # 3, J1]\n", "yaml.comment", 3, "main # 3", "comment"),
    ("supplies: {S1: {part: x, limit: 0,75 A}}\n", "trap.decimal-comma", 2, "0,75 A", "0.75 A"),
    ("wiring: [[S1.+, 0,75 mm², J1]]\n", "trap.decimal-comma", 2, "0,75 mm²", "0.75 mm²"),
    ("supplies:\n  S1:\n    part: x\n    limit: 0,75 A\n", "decimal-comma", 5, "0,75 A", "0.75 A"),
    ("cables:\n  a: 3 m of 2 x 0,75 mm²\n", "decimal-comma", 3, "0,75", "2 x 0.75 mm²"),
    ("doors: {D1: {runs: {power:18 m of x}}}\n", "trap.colon", 2, "power:18 m", "power: 18 m"),
    ("doors:\n  D1:\n    name:Gate\n", "trap.colon", 4, "name:Gate", "name: Gate"),
    ("devices: {F1: relay, C1: controller, two}\n", "trap.comma", 2, "controller, two", '"contr'),
    ("site:\n  name: Gate: north\n", "yaml.colon-in-text", 3, "Gate: north", "quotes"),
    ("site:\n  name: Pottery\n    of the mill\n", "trap.text-goes-on", 3, "Pottery", "quotes"),
    ("doors:\n  D1:\n    name: A\n      lock: B\n", "yaml.indent", 5, "lock: B", "spaces"),
    ("doors:\n  D1:\n    lock\n    name: A\n", "yaml.no-colon", 5, "name: A", "above: lock"),
    ("doors:\n\tD1: {}\n", "yaml.tab", 3, "D1", "no tab"),
    ("doors:\n  D1:\n \t name: A\n", "yaml.tab", 4, "name: A", "no tab"),
    ('doors:\n  D1:\n    gap: "6" wide\n', "yaml.quote", 4, '"6" wide', "6 in"),
    ('site: {name: "Pottery}\n', "yaml.quote", 2, "Pottery", "closing quote"),
    ("site: {name: Pottery\nusual: {}\n", "yaml.bracket", 2, "Pottery", "closing }"),
    ("site: {name: Pottery}}\n", "yaml.bracket", 2, "}}", "nothing behind"),
    ("site: {name: @home}\n", "yaml.quotes", 2, "@home", "starts with @"),
    ("site: {name: *}\n", "yaml.quotes", 2, "*", "starts with *"),
    ('site: {name: "c:\\path"}\n', "yaml.backslash", 2, "path", "single quotes"),
    ("site: {name: &a Pottery}\n", "yaml.anchor", 2, "&a", "no anchors"),
    ("site: {name: *a}\n", "yaml.anchor", 2, "*a", "no anchors"),
    ("site: {name: !a Pottery}\n", "yaml.tag", 2, "!a", "no tags"),
    ("site: {name: A, name: B}\n", "yaml.duplicate", 2, "name again", "line 2"),
    ("---\nsite: {}\n", "yaml.documents", 2, "second document", "one document"),
    ("doors: {[a]: b}\n", "yaml.key", 2, "a list", "a name"),
    ("doors: {D1: {exit: NO}}\n", "device.no", 2, "NO", "none"),
    ("doors: {D1: {exit: off}}\n", "device.no", 2, "off", "none"),
    ("doors: {D1: {closer: on}}\n", "field.yes-no", 2, "on", "yes or no"),
    ("doors: {D1: {users: 1E2}}\n", "field.count", 2, "1E2", "a whole number"),
    ("doors: {D1: {name: }}\n", "field.empty", 2, "nothing", "Chandlery"),
    ("site:\n  a: 1\n  lock strike\n  b: 2\n", "yaml.no-colon", 4, "lock strike", "a colon"),
    ("site:\n  a: 1\n  lock:strike\n  b: 2\n", "yaml.colon", 4, "lock:strike", "lock: strike"),
    ("doors:\n  D1:\n    name:\n    lock: A\n", "field.empty", 4, "nothing", "behind the colon"),
]


@pytest.mark.parametrize(("text", "code", "line", "found", "expected"), REFUSED)
def test_is_told(text: str, code: str, line: int, found: str, expected: str) -> None:
    told = [p for p in problems(text) if p.code in (code, f"quantity.{code}")]
    assert len(told) == 1, problems(text)
    assert told[0].line == line
    assert found in told[0].found
    assert expected in told[0].expected


def test_no_and_on_stay_what_was_written() -> None:
    lock = door("lock: {part: relay, contact: NO, a: on, b: yes, c: no, d: No, e: y}").devices[
        "lock"
    ]
    assert lock.settings == {"contact": "NO", "a": "on", "b": True, "c": False, "d": "No", "e": "y"}


def test_words_of_a_part_stay_what_they_are() -> None:
    words = "{part: p, a: 40, b: 0071, c: 1234567890, d: 09:00-17:00, e: 2026-02-11, f: 12 V 3 x}"
    assert door(f"lock: {words}").devices["lock"].settings == {
        "a": 40,
        "b": "0071",
        "c": "1234567890",
        "d": "09:00-17:00",
        "e": "2026-02-11",
        "f": "12 V 3 x",
    }


def test_numbers_and_dates_stay_text_where_text_is_wanted() -> None:
    assert door("name: 1E2").name == "1E2"
    assert door("name: 2026-02-11").name == "2026-02-11"
    assert door("name: 0x1F").name == "0x1F"
    assert door("name: 007").name == "007"
    assert door("name: NO").name == "NO"
    assert door("name: ~home").name == "~home"
    job = read("doors: {101: {name: 101}, 1E2: {name: Attic}}\n")
    assert list(job.doors) == ["101", "1E2"]


@pytest.mark.parametrize("day", ["2026-02-11", '"2026-02-11"'])
def test_a_date_needs_no_quotes(day: str) -> None:
    fields = f"lock: magnet 12 V, found: [{{part: lock, state: coil open, measured: {day}}}]"
    assert door(fields).found[0].measured == "2026-02-11"


@pytest.mark.parametrize("day", ["11.2.2026", "2026-02-30", "2026-2-11", "tomorrow"])
def test_what_is_no_date_is_told(day: str) -> None:
    fields = f"lock: magnet 12 V, found: [{{part: lock, state: coil open, measured: {day}}}]"
    (told,) = problems(f"doors: {{D1: {{{fields}}}}}\n")
    assert (told.code, told.found) == ("field.date", day)
    assert "2026-02-11" in told.expected


def test_an_ordinary_comment_is_no_trap() -> None:
    text = (
        "doors:\n  D1:  # the first\n    lock: magnet 24 V   # data sheet, 2 A #3\n    users: 3 #\n"
    )
    assert read(text).doors["D1"].devices["lock"].part == "magnet 24 V"


def test_a_number_sign_in_quotes_stays() -> None:
    assert door('name: "Gate # 3"').name == "Gate # 3"
    assert door("name: Gate#3").name == "Gate#3"


def test_inches_by_their_mark() -> None:
    assert read('doors:\n  D1:\n    gap: 1/8"\n').doors["D1"].facts["gap"] != ""
    assert read("doors:\n  D1:\n    release height: 3' 9\"\n").doors["D1"].facts


def test_text_over_several_lines_in_quotes_or_blocks_is_taken() -> None:
    assert read('site:\n  name: "Pottery\n    of the mill"\n').site.name == "Pottery of the mill"
    assert read("site:\n  note: |\n    Ladder.\n    Dog.\n").site.facts["note"] == "Ladder. Dog."


def test_line_ends_of_any_system_and_a_byte_order_mark() -> None:
    text = HEAD + "doors:\n  D1:\n    nmae: x\n"
    for ends in ("\n", "\r\n", "\r"):
        with pytest.raises(JobErrors) as caught:
            read_job_text("\ufeff" + text.replace("\n", ends), "job.yaml")
        (told,) = caught.value.problems
        assert (told.line, told.column, told.found) == (4, 5, "nmae")
