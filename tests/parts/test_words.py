"""Words that people write about a part: taken, or told what would be."""

from __future__ import annotations

import pytest

from latchwork.parts import KINDS, PartsErrors, catalogue
from latchwork.quantities import BY_SYMBOL
from tests.parts.test_locks import Said, said


def problems(
    name: str, figures: dict[str, Said], settings: dict[str, str | int | bool]
) -> list[str]:
    with pytest.raises(PartsErrors) as told:
        catalogue().find(name).resolve(figures, settings)
    return [f"{p.field}|{p.found}|{p.code}" for p in told.value.problems]


def test_all_that_does_not_fit_is_told_at_once() -> None:
    found = problems(
        "controller",
        {"relay tme": said(5.0, "s"), "restarts at": said(3.0, "A"), "relay": said(1.0, "V")},
        {"exit trigger": "sometimes", "ways": "many", "bell terminals": "perhaps", "power": "lots"},
    )
    assert sorted(found) == [
        "bell terminals|perhaps|part.yes-no",
        "exit trigger|sometimes|part.choice",
        "power|lots|part.figure",
        "relay tme|relay tme|part.word",
        "relay|1 V|part.not-a-figure",
        "restarts at|3 A|part.unit",
        "ways|many|part.count",
    ]


def test_the_nearest_word_and_the_unit_with_an_example_are_told() -> None:
    with pytest.raises(PartsErrors) as told:
        catalogue().find("magnet 24 V").resolve(
            {"holds downto": said(20.4, "V")}, {"resistance": "9"}
        )
    expected = {p.field: p.expected for p in told.value.problems}
    assert "holds down to" in expected["holds downto"]
    assert expected["resistance"] == "a resistance, such as 2.2 ohm"


def test_settings_are_taken_as_people_write_them() -> None:
    part = (
        catalogue()
        .find("controller")
        .resolve(
            None,
            {"relay": "Energised when idle", "ways": 2, "contact input": "no", "user places": "40"},
        )
    )
    assert part.facts["relay"] == "energised when idle"
    assert part.facts["user_places"] == 40
    assert part.has_terminal("COM2")
    assert not part.has_terminal("CONTACT")


def test_words_named_in_the_manual_are_taken() -> None:
    for kind, words in {
        "magnet": ("holds down to", "resistance", "current"),
        "controller": ("relay time", "restarts at", "needs at least", "pull-up"),
        "supply": ("limit", "output fuse", "output 3 fuse", "folds back to", "battery capacity"),
    }.items():
        for word in words:
            assert KINDS[kind].word(word) is not None, word


def test_a_motor_lock_takes_its_motors_current_and_no_other() -> None:
    """What it takes while it acts is said as that: a figure under another word would do nothing."""
    words = [word for word in KINDS["motor"].words if "current" in word]
    assert words == ["current", "motor current"]


@pytest.mark.parametrize("kind", KINDS)
def test_every_word_has_a_unit_the_program_reads_and_a_field_that_names_it(kind: str) -> None:
    endings = {
        "V": "_v",
        "A": "_a",
        "Ω": "_ohm",
        "W": "_w",
        "VA": "_va",
        "s": "_s",
        "Ah": "_ah",
        "°C": "_c",
        "N": "_n",
        "1": "_share",
    }
    for written, word in KINDS[kind].words.items():
        assert word.help, written
        if word.unit:
            assert word.unit in BY_SYMBOL, written
            assert word.field.endswith(endings[word.unit]), written


@pytest.mark.parametrize("kind", KINDS)
def test_alternatives_are_words_of_the_kind(kind: str) -> None:
    for group in KINDS[kind].alternatives:
        assert all(KINDS[kind].word(word) is not None for word in group), group
        assert len(group) > 1


def test_no_two_words_of_a_kind_fill_one_field() -> None:
    for kind in KINDS.values():
        fields = [word.field for word in kind.words.values()]
        assert len(fields) == len(set(fields)), kind.name
