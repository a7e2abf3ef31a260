"""A joint that the file gives no place stands where its cables end.

The cores of one cable end at one place, so that the others tell where; common practice, no source.
"""

from __future__ import annotations

import pytest

from latchwork.drawing.subject import subject
from tests.drawing.jobs import index_of

BELL = """
latchwork: 1
supplies: {S1: transformer 12 V AC}
doors:
  D1:
    supply: S1
    lock: strike 12 V AC fail-secure
    exit: exit button
    bell: bell 12 V
    bell button: bell button
    runs: {lock: 6 m of 2 x 1.0 mm², exit: 3 m of 2 x 1.0 mm², bell: 6 m of 2 x 0.5 mm²}
"""


@pytest.mark.parametrize(("joint", "place"), [("D1.X1", "supply"), ("D1.X2", "inside")])
def test_a_joint_stands_where_its_cables_end(joint: str, place: str) -> None:
    """X1 joins the cables to button and lock at the transformer; X2 stands by the bell, and a
    lead goes from it to the button outside."""
    things = subject(index_of(BELL), "D1").things
    assert {t.place for t in things if t.owner.id == joint} == {place}
