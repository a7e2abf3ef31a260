"""Finding parts by words, and telling all that is known of one."""

from __future__ import annotations

from latchwork.parts import catalogue
from latchwork.parts.explaining import explain, search


def names(words: str) -> list[str]:
    return [spec.name for spec in search(catalogue(), words)]


def test_search_finds_by_every_word() -> None:
    found = names("strike 24 V fail-secure")
    assert found[0] == "strike 24 V fail-secure"
    assert "strike 24 V fail-secure, diode" in found
    assert not [name for name in found if "12 V" in name]


def test_search_looks_at_other_names_and_what_it_is_about() -> None:
    assert "release, double pole" in names("break-glass double")
    assert "network port, class 3" in names("PoE class 3")
    assert "magnet 12 V, bond sensor" in names("armature bonded")


def test_search_finds_beginnings_of_words() -> None:
    assert "keypad, outdoor" in names("keyp outd")


def test_no_words_find_everything_and_nonsense_nothing() -> None:
    assert len(names("")) == len(catalogue().names())
    assert names("qqqq") == []


def test_explain_tells_terminals_figures_with_sources_settings_and_states() -> None:
    answer = explain(catalogue().find("strike 24 V fail-secure"))
    assert [terminal.name for terminal in answer.terminals] == ["+", "-"]
    current = next(line for line in answer.figures if line.word == "current")
    assert (current.field, current.unit) == ("current_a", "A")
    assert current.figure.source == "common practice, no source"
    pick = next(line for line in answer.worked_out if line.field == "surely_pick_v")
    assert "A156.31" in pick.figure.source
    assert pick.help
    suppression = next(line for line in answer.settings if line.word == "suppression")
    assert suppression.value == "needed"
    assert "built in" in suppression.choices
    assert "coil open" in [state.name for state in answer.states]
    assert "holds down to" in dict(answer.more_words)


def test_every_part_can_be_explained() -> None:
    for spec in catalogue().specs():
        answer = explain(spec)
        assert answer.terminals
        assert not {line.word for line in answer.figures} & dict(answer.more_words).keys()
