"""Junk thrown at the reader: a job or JobErrors may come, nothing else."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from latchwork.job import JobErrors, Problem, job_schema, read_job_text
from tests.job.samples import EVERYTHING, HEAD


def read_or_refuse(text: str) -> None:
    for problem in problems_of(text):
        assert problem.found
        assert problem.expected
        assert problem.code


def problems_of(text: str) -> tuple[Problem, ...]:
    try:
        read_job_text(text, "job.yaml")
    except JobErrors as errors:
        return errors.problems or pytest.fail("refused without a reason")
    return ()


@given(st.text())
@example("\ud800")
@example("\x85a: b\u2028")
def test_any_text(text: str) -> None:
    read_or_refuse(text)


_BITS = st.sampled_from(
    [*"{}[]:,#&*!|>'\"%@`-?~ \n\t", "\n  ", "\n    ", ": ", " #", "- ", "D1", "lock", "12 V", "0,7"]
)


@given(st.lists(_BITS, max_size=40).map("".join))
def test_text_made_of_yaml_signs(text: str) -> None:
    read_or_refuse(HEAD + text)


@given(st.data())
@settings(max_examples=150)
def test_a_good_file_with_a_wound(data: st.DataObject) -> None:
    start = data.draw(st.integers(0, len(EVERYTHING)))
    length = data.draw(st.integers(0, 30))
    patch = data.draw(st.lists(_BITS, max_size=4).map("".join))
    read_or_refuse(EVERYTHING[:start] + patch + EVERYTHING[start + length :])


def _names(schema: Any) -> set[str]:
    """Every field name that the schema knows."""
    if isinstance(schema, list):
        return set().union(*(_names(item) for item in schema), set())
    if not isinstance(schema, dict):
        return set()
    names = set(schema.get("properties", {}))
    return names.union(*(_names(item) for item in schema.values()), set())


_NAMES = st.sampled_from([*sorted(_names(job_schema())), "D1", "S1", "F1", "1", "part", "J1"])
_TEXTS = st.sampled_from(
    [
        "none",
        "unknown",
        "lead",
        "open",
        "yes",
        "12 V",
        "3 m of 2 x 1.0 mm²",
        "S1 out 1",
        "F1",
        "C1 way 2",
        "lock.+",
        "main red",
        "main red + main red",
        "4 m from lock",
        "from lock",
        "unlocks",
        ".",
        " . ",
        "x.",
        "",
        "2026-02-11",
        "2 x 12 V 7 Ah",
        "1",
    ]
)
_VALUES = st.recursive(
    _TEXTS | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(_NAMES, inner, max_size=5),
    max_leaves=25,
)
_SECTIONS = st.sampled_from(sorted(job_schema()["properties"]))


@given(st.dictionaries(_SECTIONS, _VALUES))
def test_trees_of_known_names(tree: dict[str, Any]) -> None:
    # JSON is YAML; the reader sees a well-formed file that says nonsense.
    read_or_refuse(json.dumps({"latchwork": 1, **tree}, ensure_ascii=False))


@given(st.dictionaries(_NAMES, _VALUES, max_size=8), st.dictionaries(_NAMES, _VALUES, max_size=8))
def test_doors_of_known_names(usual: dict[str, Any], door: dict[str, Any]) -> None:
    job = {
        "latchwork": 1,
        "usual": usual,
        "supplies": {"S1": "supply 24 V"},
        "devices": {"F1": "fire relay"},
        "doors": {"D1": {"lock": "magnet 24 V", **door}},
    }
    read_or_refuse(json.dumps(job, ensure_ascii=False))
