"""The schema says what the reader takes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

import job_schema as script
from latchwork.job import job_schema, read_job_text
from latchwork.job.deviations import FORMS
from latchwork.job.doors import DOOR, USUAL
from latchwork.job.facts import SITE
from latchwork.job.fields import Field
from latchwork.job.sections import JOB
from tests.job.samples import HEAD


def test_the_published_schema_is_the_one_of_the_tables() -> None:
    assert script.TARGET.read_text(encoding="utf-8") == script.text(), "run scripts/job_schema.py"


def test_every_section_forbids_names_it_does_not_know() -> None:
    schema = job_schema()
    assert schema["additionalProperties"] is False
    door = schema["properties"]["doors"]["additionalProperties"]
    assert door["additionalProperties"] is False
    assert set(door["properties"]) == set(DOOR)
    assert set(schema["properties"]["usual"]["properties"]) == set(USUAL)
    assert set(schema["properties"]["site"]["properties"]) == set(SITE)


def _described(schema: Any, path: str = "") -> Iterator[tuple[str, str]]:
    if isinstance(schema, dict):
        for name, inner in schema.get("properties", {}).items():
            yield f"{path}.{name}", inner.get("description", "")
        for name, inner in schema.items():
            yield from _described(inner, f"{path}.{name}")
    elif isinstance(schema, list):
        for index, inner in enumerate(schema):
            yield from _described(inner, f"{path}.{index}")


def test_every_field_has_a_help_and_an_example() -> None:
    described = dict(_described(job_schema()))
    assert len(described) > 100
    # The two bare lists of legs have no field of their own: rows by leg.
    lacking = [p for p, text in described.items() if ".wiring." not in p and "Example:" not in text]
    assert lacking == []


_SITE = (
    "supplies: {S1: supply 24 V}\ndevices: {F1: fire relay}\ncables: {trunk: 46 m of 2 x 2.5 mm²}\n"
)
_KIT = (
    "lock: magnet 24 V, controller: controller, exit: button, "
    "runs: {power: 3 m of 2 x 1.0 mm², exit: 3 m of 4 x 0.22 mm²}, joints: {J1: {}}, diode: diode"
)


@pytest.mark.parametrize("field", DOOR.values(), ids=lambda f: f.name)
def test_examples_of_a_door_are_read(field: Field) -> None:
    kit = ", ".join(part for part in _KIT.split(", ") if not part.startswith(f"{field.name}:"))
    if field.name in ("runs", "joints", "exit", "controller", "lock"):
        kit = ""
    value = f'"{field.example}"' if "," in field.example and field.example[0] not in "[{" else ""
    fields = ", ".join(part for part in (kit, f"{field.name}: {value or field.example}") if part)
    job = read_job_text(f"{HEAD}{_SITE}doors: {{D1: {{{fields}}}}}\n", "job.yaml")
    assert job.doors["D1"].id == "D1"


@pytest.mark.parametrize("field", SITE.values(), ids=lambda f: f.name)
def test_examples_of_the_site_are_read(field: Field) -> None:
    read_job_text(f"{HEAD}site:\n  {field.name}: {field.example}\n", "job.yaml")


@pytest.mark.parametrize("field", JOB.values(), ids=lambda f: f.name)
def test_examples_of_the_sections_are_read(field: Field) -> None:
    sections = {"latchwork": "1"}
    if field.name in ("wiring", "found", "taps"):
        sections |= {"supplies": "{S1: supply 24 V}", "cables": "{trunk: 46 m of 2 x 2.5 mm²}"}
    sections[field.name] = field.example
    read_job_text("".join(f"{k}: {v}\n" for k, v in sections.items()), "job.yaml")


@pytest.mark.parametrize("kind", FORMS, ids=lambda k: k.value)
def test_examples_of_the_deviations_are_read(kind: Any) -> None:
    entry = ", ".join(f"{field.name}: {field.example}" for field in FORMS[kind].values())
    fields = f"{_KIT}, supply: S1, found: [{{{entry}}}]"
    job = read_job_text(f"{HEAD}{_SITE}doors: {{D1: {{{fields}}}}}\n", "job.yaml")
    assert job.doors["D1"].found[0].kind is kind
