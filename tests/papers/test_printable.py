"""What no font holds is spelled out, and the list of what they hold is that of the fonts."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

import font_coverage
from latchwork.papers.printable import all_printable, covered, printable


def test_the_list_is_that_of_the_shipped_fonts() -> None:
    assert font_coverage.main(["--check"]) == 0


def test_scripts_with_a_font_stay() -> None:
    text = "Été Ωμέγα Дверь שער بوابة द्वार ประตู 扉 🚪 👩‍🔧 0.22 mm²"
    assert printable(text) == text


def test_what_no_font_holds_is_spelled_out() -> None:
    assert printable("문") == "U+BB38"
    assert printable("a\u202eb\x07") == "aU+202EbU+0007"


@given(st.text())
def test_nothing_is_left_out_and_all_of_it_prints(text: str) -> None:
    shown = printable(text)
    assert all(c.isspace() or ord(c) in covered() for c in shown)
    assert bool(shown) == bool(text)


def test_every_text_in_data_is_reached() -> None:
    assert all_printable({"a": ["문", {"b": "\u202e"}], "n": 1.5, "t": True}) == {
        "a": ["U+BB38", {"b": "U+202E"}],
        "n": 1.5,
        "t": True,
    }
