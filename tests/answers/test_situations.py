"""Situations as people write them."""

from __future__ import annotations

import pytest

from latchwork.answers.detail import UnknownName, detail, read_situation, situations_of
from latchwork.behaviour import Event, Mode, Power, Situation
from latchwork.job import read_job_text
from latchwork.parts import catalogue
from latchwork.plan import plan
from latchwork.wiring import wire

EVERY = tuple(
    Situation(power, mode, event, which, lost)
    for power in Power
    for mode in Mode
    for event in Event
    for which in ("", "second exit")
    for lost in (("S1", "S2") if power is Power.ONE_LOST else ("",))
)


@pytest.mark.parametrize(
    ("text", "power", "mode", "event", "which", "lost"),
    [
        ("", Power.MAINS, Mode.NORMAL, Event.NOBODY, "", ""),
        ("card or code", Power.MAINS, Mode.NORMAL, Event.CREDENTIAL, "", ""),
        ("all lost", Power.ALL_LOST, Mode.NORMAL, Event.NOBODY, "", ""),
        (" fire alarm / exit request ", Power.MAINS, Mode.FIRE_ALARM, Event.EXIT, "", ""),
        ("exit request (second exit)", Power.MAINS, Mode.NORMAL, Event.EXIT, "second exit", ""),
        ("one supply lost (S2)", Power.ONE_LOST, Mode.NORMAL, Event.NOBODY, "", "S2"),
        (
            "one supply lost/exit request (S2, second exit)",
            Power.ONE_LOST,
            Mode.NORMAL,
            Event.EXIT,
            "second exit",
            "S2",
        ),
        (
            "mains/normal/emergency release, controller frozen",
            Power.MAINS,
            Mode.NORMAL,
            Event.RELEASE_ALONE,
            "",
            "",
        ),
        ("mains lost, no battery", Power.NO_BATTERY, Mode.NORMAL, Event.NOBODY, "", ""),
    ],
)
def test_what_is_left_out_is_ordinary(
    text: str, power: Power, mode: Mode, event: Event, which: str, lost: str
) -> None:
    assert read_situation(text, EVERY) == Situation(power, mode, event, which, lost)


def test_every_key_reads_back() -> None:
    for situation in EVERY:
        assert read_situation(situation.key, EVERY) == situation


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("mains/normal/crad or code", "card or code"),
        ("one supply lost", "nearest is one supply lost/normal/nobody (S"),
        ("sunshine", "one of: mains"),
    ],
)
def test_what_is_none_is_told_with_the_nearest(text: str, expected: str) -> None:
    with pytest.raises(UnknownName) as caught:
        read_situation(text, EVERY)
    assert caught.value.what == "situation"
    assert expected in caught.value.expected


def test_a_door_with_nothing_in_a_circuit_is_told() -> None:
    job = "latchwork: 1\ndoors: {D1: {out by: lever}}\n"
    wiring = wire(plan(read_job_text(job, "job.yaml"), catalogue()))
    for ask in (detail, situations_of):
        with pytest.raises(UnknownName) as error:
            ask(wiring, "D1")
        assert error.value.found == "D1"
    assert wiring.troubles == ()
