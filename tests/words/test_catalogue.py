"""The catalogue of words: figures in the reader's units, nothing said twice, nothing missing."""

from __future__ import annotations

import pytest

from latchwork.behaviour import LockState
from latchwork.cli.check_page import LOADS, SEVERITIES
from latchwork.findings import Severity
from latchwork.parts import catalogue
from latchwork.quantities import System
from latchwork.words import has, say, sources
from latchwork.words.catalogue import _texts


def test_figures_are_shown_in_the_units_of_the_reader() -> None:
    text = "finding.volts-low.title"
    figures: dict[str, float | str] = {
        "subject": "D1",
        "volts_v": 13.372,
        "need_v": 10.2,
        "does": "hold",
    }
    assert "13.37 V" in say(text, figures)
    shown = say("check.load.mains/normal", {"load_a": 0.25})
    assert shown == "at rest 0.250 A"


def test_a_text_that_is_missing_is_an_error_of_ours() -> None:
    with pytest.raises(KeyError):
        say("no.such.text")


def test_us_readers_get_feet() -> None:
    assert System.US in System
    from latchwork.words.catalogue import _shown

    assert _shown("length_m", 18.288, System.US) == "60.0 ft"
    assert _shown("length_m", 18.288, System.METRIC) == "18.3 m"


def test_every_finding_has_title_reason_and_remedy() -> None:
    rules = {key.split(".")[1] for key in _texts("en") if key.startswith("finding.")}
    for rule in rules:
        for part in ("title", "why", "do"):
            assert has(f"finding.{rule}.{part}"), f"{rule}.{part}"


def test_every_word_that_faces_need_is_there() -> None:
    for severity in Severity:
        assert say(f"severity.{severity.name.lower()}") == severity.name.lower()
        assert say(f"mark.{severity.name.lower()}")
    assert tuple(s.name.lower() for s in Severity) == SEVERITIES
    for state in LockState:
        assert has(f"state.{state.name.lower()}")
    assert all(has(f"check.load.{load}") for load in LOADS)
    for name in catalogue().names():
        for terminal in catalogue().get(name).resolve().terminals:
            assert has(f"terminal.{terminal.does}"), terminal


def test_every_way_of_passing_has_a_sentence_and_a_short_word() -> None:
    ways = [key.removeprefix("how.") for key in _texts("en") if key.startswith("how.")]
    assert len(ways) > 10
    assert [way for way in ways if not has(f"short.{way}")] == []


def test_too_many_volts_are_told_of_any_part() -> None:
    """Controllers and readers are rated too: "at the lock" was said of them."""
    figures: dict[str, float | str] = {
        "subject": "D1.controller",
        "volts_v": 27.3,
        "most_v": 15.0,
        "case": "nominal",
    }
    told = say("finding.volts-high.title", figures) + say("finding.volts-high.do", figures)
    assert "lock" not in told


def test_sources_have_texts() -> None:
    assert {"asked", "egress", "part", "practice", "model"} <= set(sources())


def test_figures_that_would_read_alike_are_told_apart() -> None:
    """19.998 V is less than 20 V, and both are 20.00 V to two decimals."""
    figures: dict[str, float | str] = {"subject": "D1.lock", "does": "pick up", "need_v": 20.0}
    title = "finding.volts-low.title"
    assert say(title, {**figures, "volts_v": 19.998}) == (
        "D1.lock: 19.998 V at the lock, it needs 20.000 V to pick up"
    )
    for volts in (19.98, 20.0, 20.0 - 1e-9, 20.0 - 1.5e-5):
        assert ".000" not in say(title, {**figures, "volts_v": volts})
