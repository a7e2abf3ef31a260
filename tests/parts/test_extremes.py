"""Whatever figure a job gives, a part stays in order or the figure is refused."""

from __future__ import annotations

import pytest

from latchwork.elements import Bolt, Sense
from latchwork.parts import KINDS, Part, PartsErrors, PartSpec, Takes, catalogue
from tests.parts.test_locks import said
from tests.parts.test_whole import assert_whole


def one_of_each_kind() -> dict[str, PartSpec]:
    found: dict[str, PartSpec] = {}
    for spec in catalogue().specs():
        found.setdefault(spec.kind.name, spec)
    return found


def assert_ordered(part: Part) -> None:
    for rule in part.rules:
        if isinstance(rule, Bolt):
            assert rule.may_pick_v <= rule.surely_pick_v
            assert rule.surely_release_v <= rule.surely_hold_v
        if isinstance(rule, Sense):
            for end in ("low", "value", "high"):
                assert getattr(rule.off_v, end) <= getattr(rule.on_v, end), rule.flag


# Words that mean something only beside others.
BESIDE = {"pick-up current": {"pick-up time": (0.3, "s")}}


@pytest.mark.parametrize("kind", KINDS)
def test_extreme_figures_leave_a_part_in_order(kind: str) -> None:
    spec = one_of_each_kind()[kind]
    for name, word in spec.kind.words.items():
        if word.takes is not Takes.FIGURE:
            continue
        for value in (1e-6, 0.3, 7.0, 400.0, 9e8):
            if value > word.most:
                continue
            written = {more: said(*figure) for more, figure in BESIDE.get(name, {}).items()}
            written[name.replace("*", "2")] = said(value, word.unit)
            part = spec.resolve(written, {"outputs": "2"} if name == "output * fuse" else {})
            assert_whole(part)
            assert_ordered(part)


@pytest.mark.parametrize("kind", KINDS)
def test_impossible_figures_are_refused(kind: str) -> None:
    spec = one_of_each_kind()[kind]
    for name, word in spec.kind.words.items():
        if word.takes is Takes.FIGURE and word.unit != "°C":
            for value in (-1.0, 1e12):
                with pytest.raises(PartsErrors):
                    spec.resolve({name.replace("*", "2"): said(value, word.unit)})
