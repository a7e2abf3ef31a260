"""A Change and its inverse leave the file byte for byte; a Change rewrites only its own lines."""

from __future__ import annotations

import difflib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from latchwork.job.changes import Lines, NoSuchPlace, Value, append, apply, drop, put
from latchwork.job.changes.spots import BREAK, Spot, read_spots
from tests.changes.samples import texts

TEXTS = texts()
WORDS = st.text("aé Ω,:#-{}[]\"'x0", min_size=1, max_size=12).map(str.strip).filter(bool)
VALUES: st.SearchStrategy[Value] = st.one_of(
    WORDS,
    st.dictionaries(WORDS, WORDS, min_size=1, max_size=3),
    st.lists(WORDS, min_size=1, max_size=3),
    st.dictionaries(WORDS, WORDS, min_size=1, max_size=3).map(Lines),
    st.lists(st.lists(WORDS, min_size=1, max_size=3), min_size=1, max_size=2).map(Lines),
)


def paths(spot: Spot, above: str = "") -> list[str]:
    found = []
    for entry in spot.entries:
        path = f"{above}.{entry.name}" if above else entry.name
        found += [path, *paths(entry.value, path)]
    return found


PATHS = {name: paths(read_spots(text)) for name, text in TEXTS.items()}


def reads(spot: Spot | None) -> object:
    """What a value reads as, places left out."""
    assert spot is not None
    if spot.text is not None:
        return spot.text
    if spot.table:
        return {e.name: reads(e.value) for e in spot.entries}
    return [reads(e.value) for e in spot.entries]


def plain(value: Value) -> object:
    match value:
        case str():
            return value
        case Lines():
            return plain(value.value)
        case dict():
            return {k: plain(v) for k, v in value.items()}
        case list():
            return [plain(v) for v in value]
    raise AssertionError(value)


def at(text: str, path: str) -> Spot | None:
    spot = read_spots(text)
    for name in path.split("."):
        entry = spot.entry(name)
        if entry is None:
            return None
        spot = entry.value
    return spot


@pytest.mark.parametrize("name", TEXTS)
def test_every_value_set_added_below_and_taken_back(name: str) -> None:
    text = TEXTS[name]
    for path in PATHS[name]:
        change = put(text, path, "another, “word”")
        after, back = apply(text, change)
        assert reads(at(after, path)) == "another, “word”"
        assert apply(after, back) == (text, change)


@pytest.mark.parametrize("name", TEXTS)
def test_every_entry_taken_out_and_put_back(name: str) -> None:
    text = TEXTS[name]
    for path in PATHS[name]:
        change = drop(text, path)
        if change.path in ("latchwork", "site"):
            continue
        after, back = apply(text, change)
        assert apply(after, back) == (text, change), path
        gone = reads(read_spots(text)), reads(read_spots(after))
        assert gone[0] != gone[1]


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_any_change_anywhere(data: st.DataObject) -> None:
    name = data.draw(st.sampled_from(sorted(TEXTS)))
    text = TEXTS[name]
    path = data.draw(st.sampled_from(PATHS[name]))
    value = data.draw(VALUES)
    new = data.draw(st.sampled_from(["new", "new é", "power", "lock", "battery", "note"]))
    how = data.draw(st.sampled_from(["set", "add", "append"]))
    try:
        if how == "append":
            change = append(text, path, value)
        else:
            change = put(text, path if how == "set" else f"{path}.{new}", value)
    except NoSuchPlace:
        assert how != "set"
        return
    after, back = apply(text, change)
    if how == "set":
        assert reads(at(after, path)) == plain(value)
    assert apply(after, back) == (text, change)


@settings(max_examples=100, deadline=None)
@given(st.data())
def test_many_changes_taken_back_in_reverse(data: st.DataObject) -> None:
    first = text = TEXTS[data.draw(st.sampled_from(sorted(TEXTS)))]
    backs = []
    for _ in range(data.draw(st.integers(2, 8))):
        path = data.draw(st.sampled_from(paths(read_spots(text))))
        if data.draw(st.booleans()):
            text, back = apply(text, put(text, path, data.draw(VALUES)))
        else:
            change = drop(text, path)
            if change.path in ("latchwork", "site"):
                continue
            text, back = apply(text, change)
        backs.append(back)
    for back in reversed(backs):
        text, _ = apply(text, back)
    assert text == first


@pytest.mark.parametrize("name", TEXTS)
def test_only_its_own_lines(name: str) -> None:
    """A value on one line costs one line, whatever stands round it."""
    text = TEXTS[name]
    for path in PATHS[name]:
        spot = at(text, path)
        assert spot is not None
        if spot.text is None or BREAK.search(text, spot.start, spot.end):
            continue
        after, _ = apply(text, put(text, path, "x"))
        lines = [
            line for line in difflib.ndiff(BREAK.split(text), BREAK.split(after)) if line[0] in "+-"
        ]
        assert len(lines) in (0, 2), (path, lines)
