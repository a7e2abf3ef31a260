"""Papers of sample jobs, made once for all tests that look at them."""

from __future__ import annotations

import datetime
import tempfile
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import pypdfium2
from msgspec.structs import replace as put

from latchwork.answers.service import ServiceLine
from latchwork.demo import write_demo
from latchwork.papers.asked import Paper, Stamp
from latchwork.papers.content.source import Source
from latchwork.papers.pack import pack_pdf
from latchwork.papers.source import source_of

DAY = datetime.date(2026, 3, 2)
DEPOT = """
latchwork: 1
supplies: {S1: {part: supply 24 V, outputs: {1: {fuse: 1.0 A}, 2: {fuse: 1.0 A}}}}
cables: {trunk: 46 m of 4 x 2.5 mm²}
taps:
  K1: {on: trunk, at: 12 m, place: box over the side door}
  K2: {on: trunk, at: 30 m, place: box in the wash bay}
wiring:
  - [S1.1, trunk brown, open]
  - [S1.-, trunk blue, open]
doors:
  D1:
    lock: strike 24 V fail-secure
    controller: controller
    controller at: door
    exit: exit button
    runs: {exit: 6 m of 4 x 0.22 mm²}
    wiring:
      power:
        - [K1.brown, lead, controller.+]
        - [K1.blue, lead, controller.-]
  D2:
    lock: strike 24 V fail-secure
    controller: controller
    controller at: supply
    cables: {main: 31 m of category cable}
    joints: {J1: {made: screw block, place: ceiling box}}
    wiring:
      - [S1.2, lead, controller.+]
      - [S1.-, lead, controller.-]
      - [S1.2, lead, controller.COM]
      - [controller.NO, main blue, J1]
      - [J1, lead, lock.+]
      - [lock.-, main blue-white, S1.-]
"""
"""A trunk with two taps; one door on its standard arrangement, one described whole."""


@cache
def demo_source(name: str = "draft") -> tuple[Source, str]:
    """The demo's job and its version; of the draft with its service plan."""
    with tempfile.TemporaryDirectory() as folder:
        draft, mended = write_demo(Path(folder))
        return source_of(draft, service=_quiet) if name == "draft" else source_of(mended)


def _quiet(_what: str, _done: int, _total: int) -> None:
    """Nobody looks how far it is."""


@cache
def demo_pack(paper: Paper = Paper.A4) -> bytes:
    """The whole pack of the demo's draft."""
    source, version = demo_source()
    return pack_pdf(source, paper, Stamp(DAY, version))


@cache
def source_from(text: str, *, service: bool = False) -> tuple[Source, str]:
    """What a job file of that text gives; what a run of every single fault does where it is to."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "job.yaml").write_text(text, encoding="utf-8")
        return source_of(Path(folder), service=_quiet if service else None)


def plan_of(source: Source) -> tuple[ServiceLine, ...]:
    """The service plan that a source tells."""
    assert source.faults is not None
    return tuple(line for door in source.faults.doors for line in door.service)


def with_plan(source: Source, lines: Sequence[ServiceLine]) -> Source:
    """The source with these tests for its service plan, each at its door."""
    assert source.faults is not None
    doors = tuple(
        put(door, service=tuple(line for line in lines if line.door == door.id))
        for door in source.faults.doors
    )
    return replace(source, faults=put(source.faults, doors=doors))


def text_of(pdf: bytes) -> list[str]:
    """The text of each page as a PDF reader gives it out, spaces and line ends made single.

    The reader takes a minus at the end of a line for a hyphen and marks it with U+FFFE.
    """
    with pypdfium2.PdfDocument(pdf) as document:
        texts = [page.get_textpage().get_text_range() for page in document]
    return [" ".join(text.replace("\ufffe", "-").split()) for text in texts]
