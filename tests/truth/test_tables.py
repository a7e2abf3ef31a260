"""Every arrangement's truth table, written by hand from the trade, against what is computed.

Source: common practice in the trade, no source; the thresholds and holding figures are those of
the catalogue. The tables are in the Markdown files beside this one and are the truth: where they
and the program differ, first principles decide which of the two is mended.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache

import pytest

from latchwork.behaviour import LockState, Moment, Pass
from tests.truth.solved import Solved, solved
from tests.truth.tables import (
    Arrangement,
    Row,
    arrangements,
    lock_says,
    pass_says,
    words_of,
    words_of_state,
)

ALL = arrangements()
DOORS = [(found, table.door) for found in ALL for table in found.tables]
IDS = [f"{found} {door}" for found, door in DOORS]
QUESTIONS = ("in without right", "in with right", "out", "out, unit dead", "latch")


@cache
def _solved(job: str) -> dict[str, Solved]:
    return solved(job)


def _only(rows: Sequence[Row], words: Sequence[str]) -> Row | str:
    found = [row for row in rows if row.about(words)]
    if len(found) == 1:
        return found[0]
    lines = ", ".join(str(row.line) for row in found)
    return f"{'/'.join(words)}: in {f'lines {lines}' if found else 'no line'}, wanted in one"


def _told(problems: Iterable[str]) -> str:
    return "\n".join(["", *problems])


@pytest.mark.parametrize(("found", "door"), DOORS, ids=IDS)
def test_locks_are_as_the_table_says(found: Arrangement, door: str) -> None:
    (table,) = (t for t in found.tables if t.door == door)
    result = _solved(found.job)[door].outcome
    problems, used = [], set()
    slots = [lock.device.partition(".")[2] for lock in result.locks]
    assert slots == list(table.lock_slots)
    for column, situation in enumerate(result.situations):
        words = words_of(situation)
        row = _only(table.locks, words)
        if isinstance(row, str):
            problems.append(row)
            continue
        used.add(row.line)
        for lock, cell in zip(result.locks, row.says, strict=True):
            for moment, said in enumerate(lock_says(cell)):
                computed = LockState(int(lock.state[column, moment]))
                if computed is not said:
                    when = list(Moment)[moment]
                    problems.append(
                        f"line {row.line}: {'/'.join(words)} {when}: {lock.device} "
                        f"{said.name.lower()}, computed {computed.name.lower()}"
                    )
    problems += [f"line {row.line}: about nothing" for row in table.locks if row.line not in used]
    assert not problems, _told(problems)


@pytest.mark.parametrize(("found", "door"), DOORS, ids=IDS)
def test_people_pass_as_the_table_says(found: Arrangement, door: str) -> None:
    (table,) = (t for t in found.tables if t.door == door)
    problems, used = [], set()
    for state in _solved(found.job)[door].states:
        words = words_of_state(state)
        row = _only(table.passes, words)
        if isinstance(row, str):
            problems.append(row)
            continue
        used.add(row.line)
        computed: list[Pass | str] = [
            state.enter_without_right,
            state.enter_with_right,
            state.leave,
            state.leave_unit_dead,
            "holds" if state.latch_holds else "drawn",
        ]
        said = [pass_says(cell, n) if n < 4 else cell for n, cell in enumerate(row.says)]
        problems += [
            f"line {row.line}: {'/'.join(words)} {QUESTIONS[n]}: {said[n]}, computed {computed[n]}"
            for n in range(5)
            if said[n] != computed[n]
        ]
    problems += [f"line {row.line}: about nothing" for row in table.passes if row.line not in used]
    assert not problems, _told(problems)


@pytest.mark.parametrize("found", ALL, ids=str)
def test_every_situation_is_solved(found: Arrangement) -> None:
    for door in _solved(found.job).values():
        assert door.outcome.solved.all()
