"""A Change that no longer fits the file is refused, with what it expects and what stands there."""

from __future__ import annotations

import pytest

from latchwork.job import JobErrors
from latchwork.job.changes import (
    Add,
    Change,
    DoesNotFit,
    Lines,
    NoSuchPlace,
    Remove,
    Set,
    Source,
    append,
    apply,
    as_typed,
    change_job,
    drop,
    put,
)
from tests.changes.samples import COMMENTED, draft

DRAFT = draft()


def refused(text: str, change: Change) -> tuple[str, str]:
    with pytest.raises(DoesNotFit) as caught:
        apply(text, change)
    assert caught.value.change == change
    return caught.value.expected, caught.value.found


def test_the_value_is_another_one_now() -> None:
    change = put(COMMENTED, "doors.D1.lock", "magnet 24 V")
    text = COMMENTED.replace("strike 24 V fail-secure", "strike 24 V fail-safe")
    expected, found = refused(text, change)
    assert expected == "   strike 24 V fail-secure   # from stock"
    assert found == "   strike 24 V fail-safe   # from stock"


def test_the_line_has_gone() -> None:
    change = put(COMMENTED, "doors.D1.lock", "magnet 24 V")
    text, _ = apply(COMMENTED, drop(COMMENTED, "doors.D1.lock"))
    assert refused(text, change) == ("   strike 24 V fail-secure   # from stock", "")
    gone = drop(COMMENTED, "doors.D1.lock")
    assert refused(text, gone) == ("    lock:   strike 24 V fail-secure   # from stock\n", "")


def test_the_id_is_new_no_longer() -> None:
    change = put(COMMENTED, "doors.D3", Lines({"name": "Side"}))
    text, _ = apply(COMMENTED, put(COMMENTED, "doors.D3", Lines({"name": "Another"})))
    expected, found = refused(text, change)
    assert expected == ""
    assert found == "  D3:\n    name: Another\n"


def test_the_lines_to_go_were_changed() -> None:
    change = drop(COMMENTED, "doors.D2.lock")
    text = COMMENTED.replace("20.4 V", "19.2 V")
    expected, found = refused(text, change)
    assert "20.4 V" in expected
    assert "19.2 V" in found


def test_what_it_comes_behind_has_gone() -> None:
    change = put(COMMENTED, "doors.D1.runs.release", "2 m of 2 x 1.0 mm²")
    assert isinstance(change, Add)
    assert change.after == "exit"
    text, _ = apply(COMMENTED, drop(COMMENTED, "doors.D1.runs.exit"))
    assert refused(text, change) == ("exit", "power")


def test_the_table_is_laid_out_otherwise_now() -> None:
    change = put(COMMENTED, "doors.D2.runs.exit", "2 m of 4 x 0.22 mm²")
    text, _ = apply(
        COMMENTED, put(COMMENTED, "doors.D2.runs", Lines({"power": "6 m of 2 x 1.0 mm²"}))
    )
    expected, found = refused(text, change)
    assert expected == ", exit: 2 m of 4 x 0.22 mm²"
    assert found == "power: 6 m of 2 x 1.0 mm²"


def test_other_lines_may_change_meanwhile() -> None:
    """A Change is tied to its own lines and to nothing else."""
    change = put(COMMENTED, "doors.D2.lock.holds down to", "18 V")
    text, _ = apply(COMMENTED, put(COMMENTED, "doors.D1.name", "Front, right leaf"))
    text, _ = apply(text, drop(text, "doors.D2.found"))
    after, _ = apply(text, change)
    assert "holds down to: 18 V" in after


def test_nothing_comes_of_a_change_that_makes_no_job() -> None:
    with pytest.raises(JobErrors) as caught:
        change_job(DRAFT, [put(DRAFT, "doors.D1.supply", "S9")], "job.yaml")
    (problem,) = caught.value.problems
    assert (problem.field, problem.found) == ("doors.D1.supply", "S9")
    assert problem.line == 1 + DRAFT[: DRAFT.index("    supply: ")].count("\n")


def test_several_changes_are_read_once_all_are_made() -> None:
    first = put(DRAFT, "doors.D1.fire", "F9")
    second = put(apply(DRAFT, first)[0], "devices.F9", "fire relay")
    changed = change_job(DRAFT, [first, second], "job.yaml")
    assert changed.job.doors["D1"].shared["fire"] == "F9"
    text = changed.text
    for change in changed.inverse:
        text, _ = apply(text, change)
    assert text == DRAFT


def test_a_text_that_cannot_be_read_is_not_changed() -> None:
    with pytest.raises(JobErrors):
        apply("doors: {D1", Set("doors", "", ""))
    with pytest.raises(JobErrors):
        put("doors: {D1", "doors.D1", "x")


def test_where_nothing_can_be_put() -> None:
    with pytest.raises(NoSuchPlace):
        put(COMMENTED, "doors.D1.name.left", "x")
    with pytest.raises(NoSuchPlace):
        append(COMMENTED, "doors.D1.name", "x")
    with pytest.raises(NoSuchPlace) as caught:
        drop(COMMENTED, "doors.D9")
    assert caught.value.known == ("D1", "D2")


@pytest.mark.parametrize(
    ("path", "value", "line"),
    [
        ("doors.D1.lock", "magnet 24 V, bond sensor", "    lock:   magnet 24 V, bond sensor   #"),
        ("doors.D2.lock.part", "magnet 24 V, small", '{part: "magnet 24 V, small", holds'),
        ("doors.D1.lock.works from", "19 V", "{part: strike 24 V fail-secure, works from: 19 V}"),
        ("doors.D1.name", "Door # 3", '    name: "Door # 3"   # 𝄞'),
        ("doors.D1.sign", "PUSH: here", '    sign: "PUSH: here"\n'),
        ("supplies.S1.battery", "2 x 12 V 7 Ah", "limit: 5.0 A, battery: 2 x 12 V 7 Ah,\n"),
        ("doors.D2.runs.lock", "9 m of 2 x 1.0 mm²", "mm², lock: 9 m of 2 x 1.0 mm² }\n"),
    ],
)
def test_written_as_its_neighbours_are(path: str, value: str, line: str) -> None:
    text, _ = apply(COMMENTED, put(COMMENTED, path, value))
    assert line in text


def test_a_table_too_wide_for_a_line_is_written_in_lines() -> None:
    runs = dict.fromkeys(("power", "exit", "release", "reader"), "38 m of 4 x 0.22 mm²")
    text, _ = apply(COMMENTED, put(COMMENTED, "doors.D1.runs", runs))
    assert "    runs:   # walked\n      power: 38 m of 4 x 0.22 mm²\n      exit:" in text


def test_what_somebody_types() -> None:
    assert as_typed(" strike 24 V ") == "strike 24 V"
    assert as_typed("{part: strike 24 V}") == Source("{part: strike 24 V}")


def test_a_table_left_empty_goes_too() -> None:
    change = drop(DRAFT, "doors.D2.wiring.release")
    assert isinstance(change, Remove)
    assert change.path == "doors.D2.wiring"


def test_an_entry_with_an_empty_line_before_it_at_the_end_of_a_file_without_a_break() -> None:
    text = COMMENTED.rstrip("\n")
    after, back = apply(text, put(text, "doors.D3", Lines({"name": "Side"})))
    assert after.endswith("date: 2026-02-11\n\n  D3:\n    name: Side")
    assert apply(after, back)[0] == text
