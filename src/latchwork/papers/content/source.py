"""What every sheet is made from, and the words and figures that they share."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from latchwork.plan.places import out_of_reach
from latchwork.quantities import System, show
from latchwork.words import has, say

if TYPE_CHECKING:
    from latchwork.answers.faults_model import FaultsAnswer
    from latchwork.answers.model import CheckAnswer
    from latchwork.answers.schedules.model import DoorRow, SchedulesAnswer
    from latchwork.drawing.index import Index
    from latchwork.job.model import Door

Sheet = dict[str, object]
"""A sheet's content by name; "kind" and "title" are always there."""


@dataclass(frozen=True, slots=True)
class Source:
    """The answers about one job."""

    schedules: SchedulesAnswer
    check: CheckAnswer
    index: Index
    faults: FaultsAnswer | None = None
    """What single faults do, and the service plan; None where no run of them was asked for."""

    @property
    def system(self) -> System:
        """The site's units."""
        return System.US if self.schedules.us_units else System.METRIC

    @property
    def job_name(self) -> str:
        """What the job is called, never empty."""
        return job_name(self.index)

    def release_frees(self, door: str) -> bool:
        """Whether a door has an emergency release that frees it by itself, and that those inside
        reach."""
        return "release" not in out_of_reach(self.index.plan, door) and any(
            trial.key == "release" and trial.state == "unlocked"
            for trial in self.schedules.trials.get(door, ())
        )

    def door(self, name: str) -> DoorRow:
        """A door by its id."""
        return next(row for row in self.schedules.doors if row.id == name)


def job_name(index: Index) -> str:
    """What the job is called, never empty."""
    return index.plan.job.site.name or say("papers.unnamed")


def words(key: str, figures: Mapping[str, float | str] | None = None) -> str:
    """A text of the papers."""
    return say(f"papers.{key}", figures)


def lines(key: str, figures: Mapping[str, float | str] | None = None) -> list[str]:
    """A text of the papers that holds one point a line."""
    return words(key, figures).splitlines()


def by(key: str) -> str:
    """By what one passes, in words: "by lever"."""
    return words(f"by.{key}") if has(f"papers.by.{key}") else key


def out_by(key: str) -> str:
    """By what one leaves, in words."""
    return words(f"out.{key}") if has(f"papers.out.{key}") else by(key)


def leave_by(row: DoorRow, key: str) -> str:
    """By what one leaves a door, in words: what stands in the place of its bar may be a lever."""
    return out_by("lever" if key == "bar" and row.out_by == "lever" else key)


def door_title(row: DoorRow | Door) -> str:
    """A door's id and name."""
    return f"{row.id}  {row.name}" if row.name and row.name != row.id else row.id


def with_beyond(text: str, row: DoorRow) -> str:
    """A text with what of a door is beyond the model, if anything is."""
    return f"{text} {row.beyond.text}" if row.beyond else text


FEW = 6
"""Faults that are named of some that are told as one."""


def few(found: Sequence[str]) -> str:
    """Faults, at most a few by name."""
    # One more takes no more room than the words that would stand for it.
    some = found if len(found) <= FEW + 1 else found[:FEW]
    named = ", ".join(some)
    if len(some) < len(found):
        named = words("service.more", {"list": named, "count": str(len(found) - len(some))})
    return named


def situation_text(key: str) -> str:
    """A situation as people read it: what is ordinary about it left out."""
    pieces = [piece for piece in key.split("/") if piece not in ("normal", "nobody")]
    return ", ".join(pieces)


def volts(value: float) -> str:
    """Two decimals, no minus before nothing."""
    return f"{round(value, 2) + 0.0:.2f}"


def amps(value: float) -> str:
    """Three decimals."""
    return f"{round(value, 3) + 0.0:.3f}"


def band(low: float, high: float, digits: int = 2) -> str:
    """A range, or "" where both ends show the same."""
    first, last = (f"{round(x, digits) + 0.0:.{digits}f}" for x in (low, high))
    return f"{first}–{last}" if first != last else ""


def figure(value: float | None, unit: str, more: int = 0) -> str:
    """A figure with its unit, or a dash. ``more`` decimals than usual."""
    return show(value, unit, more=more) if value is not None else words("dash")
