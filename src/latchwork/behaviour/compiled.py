"""``settle`` and ``passing`` by compiled code: the same positions and the same bits."""

from __future__ import annotations

import os
import sys
from functools import lru_cache
from importlib.util import find_spec
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.packed import Ints, bank_of, word_count
from latchwork.behaviour.shape import SOURCE, Compiled
from latchwork.behaviour.state import Batch, Point, Rest, State
from latchwork.circuit import Start, Work
from latchwork.circuit.kept import folder
from latchwork.findings.problems import SettingUnknown

if TYPE_CHECKING:
    from latchwork.behaviour.kernel_given import Given, Table

SOLVER, NUMPY = "LATCHWORK_SOLVER", "numpy"
KERNEL = "latchwork.behaviour.kernel_scripts"
"""What is compiled last."""
FEW = 48
"""So many doors and cases are done before compiled code is there."""


@lru_cache(maxsize=1)
def compiles() -> bool:
    """Whether compiled code is to be used: what compiles is installed, and ``LATCHWORK_SOLVER`` is
    not set to "numpy". Raises SettingUnknown for any other word: it would be taken for a wish that
    was granted."""
    asked = os.environ.get(SOLVER, "")
    if asked not in ("", NUMPY):
        raise SettingUnknown(SOLVER, asked, f"{NUMPY} (without compiled code), or nothing")
    return not asked and find_spec("numba") is not None


def new_work() -> Work:
    """Counts of work yet to be done, by compiled code where it is to be used."""
    return Work(compiled=compiles())


def work_for(targets: int) -> Work:
    """The same for so many doors and cases: a few are done before compiled code is read from
    where it is kept, and nobody waits here for it to be compiled."""
    if not compiles():
        return Work()
    return Work(compiled=KERNEL in sys.modules or (targets > FEW and kept()))


def kept() -> bool:
    """Whether compiled code is there to be read."""
    return any(folder().rglob("kernel_scripts.run_members*.nbi"))


def settle_compiled(
    batch: Batch, state: State, work: Work, *, frozen: bool = False
) -> tuple[State, Point]:
    """As ``settle``."""
    return _run(batch, state, None, work, frozen=frozen)


def passing_compiled(
    batch: Batch, state: State, point: Point, seconds: float, work: Work
) -> tuple[State, Point]:
    """As ``passing``."""
    return _run(batch, state, point, work, seconds=seconds)


def _run(
    batch: Batch,
    state: State,
    point: Point | None,
    work: Work,
    *,
    frozen: bool = False,
    seconds: float = -1.0,
) -> tuple[State, Point]:
    from latchwork.behaviour.kernel import run_columns
    from latchwork.behaviour.kernel_given import How

    table = _table_of(batch, state, point)
    done = np.zeros(4, dtype=np.int64)
    begun = state.start is not None
    how = How(point is None, begun, False, frozen, seconds)
    assert batch.members.packed is not None
    room = batch.members.packed.room
    run_columns(given_of(batch), how, table, 0, batch.columns, room, done)
    count(work, batch.compiled, done)
    return _ended(batch, table)


def given_of(batch: Batch) -> Given:
    """A batch as the kernel takes it."""
    from latchwork.behaviour.kernel_given import Given

    its, member = batch.members.packed, batch.whose
    assert its is not None
    return Given(
        its.net,
        its.places,
        its.numbers,
        member,
        np.ascontiguousarray(batch.members.values.curve_v),
        its.curves,
        member if batch.curve is None else batch.curve,
        its.stuck,
        its.feed,
        its.alike,
    )


def _table_of(batch: Batch, state: State, point: Point | None = None) -> Table:
    """Copies of a state and, where there is one, its point, one row a column."""
    table, rest = empty(batch.compiled, batch.columns), state.rest
    table.flags[:] = _words(state.flags)
    table.bolts[:] = state.bolts.T
    table.left_s[:] = state.left_s.T
    table.started[:] = state.started.T
    for row in (table.volts, table.flips, table.gates, table.bonds, table.known):
        row[:] = 0
    if state.start is not None:
        bank = bank_of(batch.compiled.shape)
        table.across[:] = state.start.volts[bank].T
        table.regions[:] = state.start.regions[bank[: table.regions.shape[1]]].T
    if point is not None:
        table.low[:] = point.sense_low_v.T
        table.high[:] = point.sense_high_v.T
        table.flips[:] = _words(point.flips)
        table.chatter[:] = point.chatter
        table.solved[:] = point.solved
    if rest is not None:
        table.volts[:] = rest.volts.T
        table.gates[:] = _words(rest.gates)
        table.bonds[:] = rest.bonds.T
        table.known[:] = state.start is not None and rest.holds_for(batch)
    return table


def _words(found: NDArray[np.bool_]) -> NDArray[np.uint64]:
    """Rows of flags as the bits of words, one row a column: all at once, not row by row."""
    bits = np.zeros((found.shape[1], 64 * word_count(len(found))), dtype=bool)
    bits[:, : len(found)] = found.T
    words = np.packbits(bits.ravel(), bitorder="little").view(np.uint64)
    return words.reshape(len(bits), bits.shape[1] // 64)


def empty(compiled: Compiled, rows: int) -> Table:
    """Room for rows, with nothing in it yet."""
    from latchwork.behaviour.kernel_given import Table

    shape = compiled.shape
    devices, watched = len(shape.devices), len(shape.senses) + len(shape.bolts)
    sources = sum(kind == SOURCE for kind, *_ in shape.devices)
    words, gates = word_count(shape.flags), word_count(compiled.gate_count)
    return Table(
        np.empty((rows, words), dtype=np.uint64),
        np.empty((rows, len(shape.bolts)), dtype=np.int8),
        np.empty((rows, len(shape.timers))),
        np.empty((rows, len(shape.timers)), dtype=bool),
        np.empty((rows, devices)),
        np.empty((rows, sources), dtype=np.int8),
        np.empty((rows, shape.nodes)),
        np.empty((rows, watched)),
        np.empty((rows, watched)),
        np.empty((rows, words), dtype=np.uint64),
        np.empty(rows, dtype=bool),
        np.empty(rows, dtype=bool),
        np.empty((rows, gates), dtype=np.uint64),
        np.empty(rows, dtype=bool),
        np.empty((rows, watched), dtype=np.int8),
    )


def count(work: Work, compiled: Compiled, done: Ints) -> None:
    """Count up what a kernel has done."""
    solves, reductions, steps, known = done.tolist()
    work.solves += solves
    work.known += known
    work.reductions += reductions
    work.newton_steps += steps
    first, second = len(compiled.order.first), len(compiled.order.second)
    work.eliminations += reductions * first + steps * second


def point_of(compiled: Compiled, table: Table) -> Point:
    """The points that rows ended at."""
    shape = compiled.shape
    bank, back = bank_of(shape), np.argsort(bank_of(shape))
    sources = table.regions.shape[1]
    regions = np.zeros((len(back), len(table.flags)), dtype=np.int8)
    regions[bank[:sources]] = table.regions.T
    return Point(
        table.volts.T,
        _bits(table.flags, shape.flags),
        table.bolts.T,
        table.low.T,
        table.high.T,
        _bits(table.flips, shape.flags),
        table.chatter,
        table.solved,
        table.bonds.T,
        Start(table.across.T[back], regions),
    )


def _ended(batch: Batch, table: Table) -> tuple[State, Point]:
    point = point_of(batch.compiled, table)
    rest = Rest(
        batch.members,
        batch.whose,
        batch.curve,
        _bits(table.gates, batch.compiled.gate_count),
        table.volts.T,
        table.bonds.T,
        table.known,
    )
    flags, bolts = point.flags, point.bolts
    return State(flags, bolts, table.left_s.T, table.started.T, point.start, rest), point


def _bits(words: NDArray[np.uint64], width: int) -> NDArray[np.bool_]:
    """The bits of words, one row a bit."""
    bits = np.unpackbits(words.view(np.uint8).ravel(), bitorder="little")
    return bits.view(np.bool_).reshape(len(words), 64 * words.shape[1])[:, :width].T
