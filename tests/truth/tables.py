"""Reads the truth tables of this folder: jobs in their own words, then what each door does.

A file is a title, a job's head, and one section for each arrangement. In the tables

* powers, modes and events stand as in ``POWERS``, ``MODES`` and ``EVENTS``, several apart by
  commas; "any", "any but …", or a group named above ("live: mains, battery, …");
* a lock cell is what the lock is as the situation begins and held, "unlocked, then locked", or
  one word for both;
* a cell of the second table says by what one passes, or "no".
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from latchwork.behaviour import DoorState, Event, LockState, Mode, Pass, Power, Situation

HERE = Path(__file__).parent

POWERS = {
    "mains": Power.MAINS,
    "battery": Power.BATTERY,
    "battery end": Power.BATTERY_END,
    "no battery": Power.NO_BATTERY,
    "all lost": Power.ALL_LOST,
    "returns": Power.RETURNS,
}
MODES = {
    "normal": Mode.NORMAL,
    "tamper": Mode.TAMPER,
    "locked out": Mode.LOCKED_OUT,
    "timed unlock": Mode.TIMED_UNLOCK,
    "fire alarm": Mode.FIRE_ALARM,
    "panel lost": Mode.PANEL_LOST,
    "fire reset": Mode.FIRE_RESET,
}
EVENTS = {
    "nobody": Event.NOBODY,
    "card": Event.CREDENTIAL,
    "exit": Event.EXIT,
    "release": Event.RELEASE,
    "held open": Event.HELD_OPEN,
    "unit dead": Event.DEAD,
    "release, all frozen": Event.RELEASE_ALONE,
    "exit, all frozen": Event.EXIT_ALONE,
}
ASKING = ("exit", "unit dead", "exit, all frozen")
SLOTS = ("exit", "second exit", "bar")
"""Where a door has several exit devices, each is tried: "exit (second exit)"."""
STATES = {state.name.lower(): state for state in LockState}
NO = ("locked", "nothing", "nothing", "nothing")
"""By what a "no" stands in each of the four questions."""


@dataclass(frozen=True)
class Row:
    """One row: the situations it is about, and what it says of them."""

    line: int
    keys: tuple[frozenset[str], ...]
    says: tuple[str, ...]

    def about(self, words: Sequence[str]) -> bool:
        """Whether the row is about these words (power, mode, event)."""
        return all(word in key for word, key in zip(words, self.keys, strict=True))


@dataclass(frozen=True)
class Table:
    """What one door does (``locks``) and who can pass (``passes``)."""

    door: str
    locks: tuple[Row, ...]
    lock_slots: tuple[str, ...]
    passes: tuple[Row, ...]


@dataclass(frozen=True)
class Arrangement:
    """One section of a file."""

    file: str
    name: str
    job: str
    tables: tuple[Table, ...]

    def __str__(self) -> str:
        return f"{self.file}: {self.name}"


def words_of(situation: Situation) -> tuple[str, str, str]:
    """A situation as the tables write it."""
    event = _word(EVENTS, situation.event)
    if situation.which:
        event = f"{event} ({situation.which})"
    return _power(situation.power, situation.lost), _word(MODES, situation.mode), event


def words_of_state(state: DoorState) -> tuple[str, str]:
    """Power and mode of the four questions as the tables write them."""
    return _power(state.power, state.which), _word(MODES, state.mode)


def _power(power: Power, lost: str) -> str:
    """ "mains", or "S1 lost"."""
    return f"{lost} lost" if lost else _word(POWERS, power)


def _word(words: Mapping[str, object], value: object) -> str:
    return next(word for word, known in words.items() if known == value)


def lock_says(cell: str) -> tuple[LockState, LockState]:
    """The states a lock cell names: as it begins, and held."""
    begins, _, held = cell.partition(", then ")
    return STATES[begins], STATES[held or begins]


def pass_says(cell: str, question: int) -> Pass:
    """What a cell of the second table says."""
    if cell == "no":
        return Pass(False, NO[question])
    if cell.startswith("no: "):
        return Pass(False, cell[4:])
    return Pass(True, cell)


class _Reader:
    """One file, line by line."""

    def __init__(self, path: Path) -> None:
        self.file = path.name
        self.lines = path.read_text(encoding="utf-8").splitlines()

    def arrangements(self) -> Iterator[Arrangement]:
        heads = [n for n, line in enumerate(self.lines) if line.startswith("## ")]
        top_job, top_groups = self._preamble(0, heads[0])
        for start, end in zip(heads, [*heads[1:], len(self.lines)], strict=True):
            job, groups = self._preamble(start, end)
            whole = job if "latchwork:" in job else top_job + job
            tables = tuple(self._tables(start, end, {**top_groups, **groups}))
            yield Arrangement(self.file, self.lines[start][3:].strip(), whole, tables)

    def _preamble(self, start: int, end: int) -> tuple[str, dict[str, str]]:
        """The fenced job and the named groups ("- live: mains, battery") of some lines."""
        job, inside, groups = "", False, {}
        for line in self.lines[start:end]:
            if line.startswith("```"):
                inside = not inside
            elif inside:
                job += line + "\n"
            elif match := re.fullmatch(r"- ([a-z ]+): (.*)", line):
                groups[match[1]] = match[2]
        return job, groups

    def _tables(self, start: int, end: int, groups: Mapping[str, str]) -> Iterator[Table]:
        door, locks, passes = "D1", list[Row](), list[Row]()
        slots: tuple[str, ...] = ()
        into: list[Row] | None = None
        keys = 0
        for n in range(start, end):
            line = self.lines[n]
            if line.startswith("### "):
                if locks:
                    yield Table(door, tuple(locks), slots, tuple(passes))
                door, locks, passes = line[4:].strip(), [], []
            if not line.startswith("|"):
                into = None
                continue
            cells = [cell.strip() for cell in line.strip().strip("|").split("|")]
            if cells[:3] == ["power", "mode", "event"]:
                into, keys, slots = locks, 3, tuple(cells[3:])
            elif cells[:2] == ["power", "mode"]:
                into, keys = passes, 2
            elif into is not None and not cells[0].startswith("---"):
                lists = tuple(frozenset(self._list(cell, groups, n)) for cell in cells[:keys])
                into.append(Row(n + 1, lists, tuple(cells[keys:])))
        yield Table(door, tuple(locks), slots, tuple(passes))

    def _list(self, cell: str, groups: Mapping[str, str], line: int) -> Iterator[str]:
        """The words of a cell, "any" and groups written out."""
        if cell == "any" or cell.startswith("any but "):
            out = frozenset(self._list(cell[8:], groups, line)) if len(cell) > 3 else frozenset()
            yield from (w for w in self.known if w not in out)
            return
        for word in re.split(r", (?!all frozen)", cell):
            if word in groups:
                yield from self._list(groups[word], groups, line)
            elif word in self.known:
                yield word
            else:
                raise AssertionError(f"{self.file}:{line + 1}: {word!r} is no word of the tables")

    @cached_property
    def known(self) -> tuple[str, ...]:
        """Every word, the supplies that the file itself names among them."""
        lost = dict.fromkeys(re.findall(r"\b([A-Z][0-9] lost)\b", "\n".join(self.lines)))
        which = (f"{event} ({slot})" for event in ASKING for slot in SLOTS)
        return (*POWERS, *MODES, *EVENTS, *lost, *which)


def arrangements() -> list[Arrangement]:
    """Every arrangement of every file, in order."""
    files = sorted(path for path in HERE.glob("*.md") if path.name != "README.md")
    return [found for path in files for found in _Reader(path).arrangements()]
