"""What ``check`` answers: frozen, plain, the same facts for people and programs."""

from __future__ import annotations

import msgspec


class QuestionLine(msgspec.Struct, frozen=True):
    """One of the four questions in one power and mode. ``by``: by what, or what is left;
    "beyond the model" where no answer is given, and then it does not count as a yes."""

    power: str
    mode: str
    enter_without_right: bool
    enter_without_by: str
    enter_with_right: bool
    enter_with_by: str
    leave: bool
    leave_by: str
    leave_unit_dead: bool
    leave_unit_dead_by: str
    latch_holds: bool


class LockLine(msgspec.Struct, frozen=True):
    """A lock's state in the situations that matter, and its volts at the worst case."""

    id: str
    part: str
    states: dict[str, str]
    """Situation -> locked, unlocked, marginal, chatter."""
    least_v: float | None
    need_v: float
    does: str
    """"pick up" or "hold": what it needs the volts for."""
    least_when: str


class DoorLine(msgspec.Struct, frozen=True):
    """One door."""

    id: str
    name: str
    arrangement: str
    questions: tuple[QuestionLine, ...]
    locks: tuple[LockLine, ...]
    worst: str
    """The worst severity of its findings; "" for none."""
    out_by: str
    """"lever", "panic bar" or "nothing mechanical"."""


class SupplyLine(msgspec.Struct, frozen=True):
    """One supply. ``loads_a`` by power/mode; ``most_a`` at the case of most current. ``dead``: it
    was found so, and volts and limit are what it would give."""

    id: str
    part: str
    volts_v: float
    limit_a: float | None
    loads_a: dict[str, float]
    most_a: float
    most_when: str
    charge_a: float
    margin: float | None
    dead: bool


class FindingLine(msgspec.Struct, frozen=True):
    """One finding with its words."""

    id: str
    rule: str
    severity: str
    subject: str
    door: str
    situation: str
    figures: dict[str, float | str]
    source: str
    provisional: tuple[str, ...]
    title: str
    why: str
    do: str
    source_text: str
    may_mend: bool
    """Whether ``mend`` may have a remedy for it; nothing has been tried."""


class CheckAnswer(msgspec.Struct, frozen=True):
    """The whole answer. ``latchwork_check`` is the version of this form."""

    latchwork_check: int
    site: str
    file: str
    doors: tuple[DoorLine, ...]
    supplies: tuple[SupplyLine, ...]
    findings: tuple[FindingLine, ...]
    points: int
    unsolved: int
    chattering: int
    unpinned: tuple[str, ...]
    """Parts and cables whose figures are not pinned: a newer catalogue may change them."""
    overtaken: tuple[str, ...]
    """The user's own parts of which other figures are pinned than they say now: those count."""
    provisional: int
    """How many findings at "weak" or worse hang on guesses."""
    caution: str
