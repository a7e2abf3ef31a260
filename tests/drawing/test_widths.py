"""The layout's widths against the faces that are shipped, measured by fontTools."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from importlib import resources
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from latchwork.drawing import paint
from latchwork.drawing.sheet import Form, Label, Role
from latchwork.drawing.text import width
from tests.drawing.test_geometry import labels, sheets
from tests.drawing.test_texts import NAMES


def fonts() -> list[Path]:
    folder = resources.files("latchwork.papers") / "fonts"
    return sorted(Path(str(file)) for file in folder.iterdir() if file.name.endswith(".ttf"))


@cache
def font(name: str) -> TTFont:
    return TTFont(next(file for file in fonts() if file.stem == name))


def advance(text: str, face: str, size: float) -> float | None:
    """The sum of a text's advances in a face; None where it lacks a character."""
    loaded = font(face)
    glyphs = loaded.getBestCmap()
    if any(ord(char) not in glyphs for char in text):
        return None
    units = sum(loaded["hmtx"][glyphs[ord(char)]][0] for char in text)
    return float(units / loaded["head"].unitsPerEm * size)


def face_of(label: Label) -> str:
    if label.mono:
        return "AtkinsonHyperlegibleMono-Bold"
    bold = label.role in (Role.SHEET, Role.DEVICE)
    return f"AtkinsonHyperlegibleNext-{'Bold' if bold else 'Regular'}"


def demo_labels() -> Iterator[Label]:
    for form in Form:
        for source in ("draft", "mended", 1, 2):
            for sheet in sheets(source, form):
                yield from labels(sheet)


def test_no_text_of_a_drawing_is_wider_than_its_box() -> None:
    measured = 0
    for label in demo_labels():
        space = "\N{NO-BREAK SPACE}" if label.strong and label.text else ""
        real = advance(label.strong + space + label.text, face_of(label), label.size)
        if real is not None:
            assert real <= label.box[2] - label.box[0] + 0.1, label.text
            measured += 1
    assert measured > 3000


@pytest.mark.parametrize("name", [n for n in NAMES if len(n) < 60], ids=ascii)
def test_names_in_other_scripts_are_not_wider_than_reckoned(name: str) -> None:
    """In the shipped face that holds all of the name, if there is one."""
    real = [advance(name, file.stem, 10.0) for file in fonts() if "Mono" not in file.stem]
    found = [each for each in real if each is not None]
    if found:
        assert min(found) <= width(name, 10.0) + 0.1


def test_drawings_ask_for_every_face_that_is_shipped() -> None:
    for file in fonts():
        family = TTFont(file)["name"].getBestFamilyName()
        assert f"'{family}'" in f"{paint.WORDS},{paint.FIGURES}", family
