"""Every fault of like cells side by side, in the 28 situations."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.compiled import compiles
from latchwork.behaviour.network import Network
from latchwork.behaviour.run import Side
from latchwork.behaviour.script import Script
from latchwork.behaviour.shape import Values, compile_shape, slim
from latchwork.behaviour.situations import DoorInputs, Event, Mode, Power, Situation
from latchwork.behaviour.state import Forced
from latchwork.circuit import Work
from latchwork.faults.looks import Run
from latchwork.faults.model import Edit, Fault

FIELDS = {
    "ohm": "ohm",
    "source volt": "source_volt",
    "source ohm": "source_ohm",
    "load": "load_amount",
    "diode": "diode_a",
    "fuse": "fuse_blows_a",
    "rail": "rail_ohm",
}


def most_columns() -> int:
    """Columns side by side: not too many to hold, and, over rows, enough that few of them still
    move in a round."""
    return 16_000 if compiles() else 96_000


def joins_apart(members: int, most: int) -> bool:
    """Whether faults that join what is apart go by themselves, given how many go through together:
    over rows a branch that few members have is one more for all of them. Where they are not many,
    batches of half as many columns would cost more than that."""
    return not compiles() and 4 * members > most


def situations(inputs: DoorInputs) -> tuple[Situation, ...]:
    """The 28 of a fault run; each exit device on its own where there are several, and a key beside
    cards or codes."""
    ways: dict[Event, list[str]] = {}
    for event, which in inputs.events():
        ways.setdefault(event, []).append(which)

    def of(power: Power, mode: Mode, *events: Event) -> list[Situation]:
        return [Situation(power, mode, event, which) for event in events for which in ways[event]]

    people = (Event.NOBODY, Event.CREDENTIAL, Event.EXIT, Event.RELEASE)
    found: list[Situation] = []
    for power in (Power.MAINS, Power.BATTERY, Power.BATTERY_END, Power.ALL_LOST):
        found += of(power, Mode.NORMAL, *people)
    for mode in (Mode.TAMPER, Mode.LOCKED_OUT, Mode.FIRE_ALARM, Mode.PANEL_LOST):
        found += of(Power.MAINS, mode, Event.NOBODY, Event.EXIT)
    found += of(Power.RETURNS, Mode.NORMAL, Event.NOBODY)
    found += of(Power.MAINS, Mode.TIMED_UNLOCK, Event.NOBODY)
    found += of(Power.MAINS, Mode.FIRE_RESET, Event.NOBODY)
    found += of(Power.MAINS, Mode.NORMAL, Event.DEAD)
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Names:
    """Where each name of a network stands among its values."""

    rows: Mapping[str, Mapping[str, int]]
    flags: Mapping[str, int]


def names(network: Network) -> Names:
    """Look-up of branches, sources, loads, diodes and fuses by name."""
    kinds: dict[int, dict[str, int]] = {}
    for name, (kind, *_) in zip(network.devices, network.shape.devices, strict=True):
        group = kinds.setdefault(min(kind, 2) if kind in (1, 2) else kind, {})
        group[name] = len(group)
    loads: dict[str, int] = {}
    for name, (kind, *_) in zip(network.devices, network.shape.devices, strict=True):
        if kind in (1, 2):
            loads[name] = len(loads)
    linear = {name: n for n, name in enumerate(network.linear)}
    fuses = {network.linear[branch]: n for n, (branch, _, _) in enumerate(network.shape.fuses)}
    sources = kinds.get(0, {})
    return Names(
        {
            "ohm": linear,
            "source volt": sources,
            "source ohm": sources,
            "load": loads,
            "diode": kinds.get(3, {}),
            "fuse": fuses,
            "rail": {name: n for n, name in enumerate(network.rails)},
        },
        network.flags,
    )


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell ready for its faults: network, numbers, the faults and the doors asked of."""

    network: Network
    values: Values
    names: Names
    curves: NDArray[np.float64] | None
    """Modes x points."""
    faults: tuple[Fault, ...]
    doors: tuple[str, ...]
    scripts: tuple[Script, ...]
    situations: tuple[tuple[Situation, ...], ...]

    @property
    def joining(self) -> list[bool]:
        """Whether each fault joins what is apart in the sound cell."""
        apart = np.isinf(self.values.ohm[:, 0])
        row = self.names.rows["ohm"]
        return [
            any(e.what == "ohm" and bool(apart[row[e.name]]) for e in fault.edits)
            for fault in self.faults
        ]


def edited(base: Sequence[Values], members: Sequence[tuple[int, Names, Sequence[Edit]]]) -> Values:
    """The numbers of ``members`` (base, names, edits): things x members."""
    which = np.array([m[0] for m in members], dtype=np.intp)
    whole = base[0] if len(base) == 1 else _joined(base)
    if len(base) == 1:
        which = np.zeros(len(members), dtype=np.intp)
    taken = {
        item.name: getattr(whole, item.name)
        if item.name == "curve_v"
        else getattr(whole, item.name).take(which, axis=1)
        for item in fields(Values)
    }
    for column, (_, known, edits) in enumerate(members):
        for edit in edits:
            if edit.what == "flag":
                continue
            row = known.rows[edit.what][edit.name]
            table = taken[FIELDS[edit.what]]
            table[row, column] = table[row, column] + edit.value if edit.add else edit.value
            if edit.what == "source volt":
                low = taken["source_low_volt"]
                low[row, column] = min(low[row, column], edit.value)
    return Values(**taken)


def _joined(base: Sequence[Values]) -> Values:
    return Values(
        **{
            item.name: getattr(base[0], item.name)
            if item.name == "curve_v"
            else np.concatenate([getattr(b, item.name) for b in base], axis=1)
            for item in fields(Values)
        }
    )


def stuck(members: Sequence[tuple[int, Names, Sequence[Edit]]]) -> dict[int, Forced]:
    """Flags that edits hold, by number."""
    found: dict[int, Forced] = {}
    for column, (_, known, edits) in enumerate(members):
        for edit in edits:
            if edit.what != "flag" or edit.name not in known.flags:
                continue
            flag = known.flags[edit.name]
            its = found.setdefault(flag, _loose(len(members)))
            if edit.needs:
                its = found[flag] = replace(its, feed=known.flags[edit.needs])
            its.there[column] = True
            its.to[column] = edit.value > 0.5
            its.fed[column] = bool(edit.needs)
    return found


def _loose(members: int) -> Forced:
    there, to, fed = np.zeros((3, members), dtype=bool)
    return Forced(there, to, fed)


def solve_edits(
    cells: Sequence[Cell],
    which: Sequence[int],
    edits: Sequence[Sequence[Edit]],
    its: Script,
    work: Work,
) -> Run:
    """Solve what-ifs of cells of one shape: for each its cell and its edits."""
    used = sorted(set(which))
    place = {c: n for n, c in enumerate(used)}
    rows = [(place[c], cells[c].names, e) for c, e in zip(which, edits, strict=True)]
    curves = None
    if cells[0].curves is not None:
        curves = np.stack([cells[c].curves for c in which])  # type: ignore[misc]  # all or none
    values = slim(edited([cells[c].values for c in used], rows))
    compiled = compile_shape(cells[0].network.shape)
    solved = Side(compiled, values, (its,) * len(which), curves, stuck(rows)).solve(work)
    return Run(compiled, values, solved)
