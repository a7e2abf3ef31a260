"""A shape and the members of a batch as arrays, for compiled code.

A shape is packed once, and the numbers of a batch's members once.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.logic import Code
from latchwork.behaviour.shape import CURVE, DIODE, POWER_LOAD, SOURCE, Shape, Values, compile_shape
from latchwork.behaviour.state import Members
from latchwork.circuit.topology import Step
from latchwork.elements import Speed

if TYPE_CHECKING:
    from latchwork.behaviour.kernel_given import Net, Places
    from latchwork.behaviour.kernel_room import Room
    from latchwork.circuit.kernel import Level

BANK = (0, 2, 1, 3)
"""The order of sources, diodes, loads and curves in a bank, by kind of device."""
NUMBERS = (
    "ohm",
    "rail_volt",
    "rail_ohm",
    "source_volt",
    "source_low_volt",
    "source_ohm",
    "source_limit_a",
    "source_fold_a",
    "load_amount",
    "load_floor_v",
    "diode_a",
    "diode_scale_v",
    "fuse_blows_a",
    "sense_on_v",
    "sense_off_v",
    "bolt_v",
    "timer_s",
)
"""The numbers of a member, one kind after the other."""

Ints = NDArray[np.int64]
Unsigned = NDArray[np.uint64]
Rows = Sequence[tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class Packed:
    """The members of a batch as arrays: their shape, numbers by member, curves by row, stuck
    flags, which of them move alike, by numbers, and what each number stands for; and room for the
    kernel to work in."""

    net: Net
    places: Places
    numbers: NDArray[np.float64]
    curves: NDArray[np.float64]
    stuck: NDArray[np.uint64]
    feed: Unsigned
    alike: Unsigned
    kinds: tuple[bytes, ...]
    room: Room


def packed(members: Members) -> Packed | None:
    """Members as arrays; what is the same for all of them stands there once. None: a rule of
    theirs has too many clauses."""
    from latchwork.behaviour.kernel_room import room

    try:
        net, places = _net(members.compiled.shape)
    except Unpacked:
        return None
    values, flags = members.values, members.compiled.shape.flags
    tables = [getattr(values, name) for name in NUMBERS]
    rows = max((t.shape[1] for t in tables if len(t)), default=1)
    numbers = np.empty((rows, sum(len(t) for t in tables)))
    begin = 0
    for table in tables:
        numbers[:, begin : begin + len(table)] = table.T
        begin += len(table)
    curves = members.curves
    if curves is None:
        curves = values.curve_a.T if len(values.curve_v) else np.zeros((1, 0))
    stuck = np.zeros((members.count if members.forced else 1, 3, word_count(flags)), np.uint64)
    feed = np.zeros(flags, dtype=np.uint64)
    for flag, its in members.forced.items():
        fed = its.to & its.fed if its.feed is not None else np.zeros_like(its.to)
        bit = np.uint64(1 << (flag % 64))
        for how, which in enumerate((~its.to, its.to & ~fed, fed)):
            stuck[its.there & which, how, flag // 64] |= bit
        if its.feed is not None:
            feed[flag] = its.feed
    space, (alike, kinds) = room(net, len(values.curve_v)), _alike(values, stuck, feed)
    curves = np.ascontiguousarray(curves)
    return Packed(net, places, numbers, curves, stuck, feed, alike, kinds, space)


def _alike(values: Values, stuck: Unsigned, feed: Unsigned) -> tuple[Unsigned, tuple[bytes, ...]]:
    """One number for all members that have the same flags held, and whose timers and bolts find
    the same where there are no seconds and no volts: their moves hang on the same comparisons.
    And what of them each number stands for."""
    signs = (values.timer_s > 0.0, values.bolt_v > 0.0, values.bolt_v <= 0.0)
    width = max(row.shape[1] for row in signs)
    above = np.concatenate([np.broadcast_to(row, (len(row), width)) for row in signs])
    bits = np.packbits(above, axis=0).T
    held = stuck.reshape(len(stuck), -1).view(np.uint8)
    both = np.empty((max(len(bits), len(held)), bits.shape[1] + held.shape[1]), dtype=np.uint8)
    both[:, : bits.shape[1]] = bits
    both[:, bits.shape[1] :] = held
    fed = feed.tobytes()
    number: dict[bytes, int] = {}
    its = [row.tobytes() + fed for row in both]
    found = np.array([number.setdefault(row, len(number)) for row in its], dtype=np.uint64)
    return found, tuple(number)


@lru_cache(maxsize=1024)
def bank_of(shape: Shape) -> Ints:
    """The devices in the order of a bank."""
    kinds = _kinds(shape)
    return np.array([n for wanted in BANK for n, kind in enumerate(kinds) if kind == wanted], int)


def _kinds(shape: Shape) -> list[int]:
    named = {SOURCE: 0, DIODE: 2, CURVE: 3}
    return [named.get(kind, 1) for kind, *_ in shape.devices]


MOST_CLAUSES = 256
"""More clauses than any rule of a door has."""
Clause = frozenset[tuple[int, bool]]
"""Flags and what each must be."""


class _Expressions:
    """Expressions one after the other, as clauses of which one must fit; those that switch the
    circuit first."""

    def __init__(self) -> None:
        self.at = [0]
        self.parts: list[tuple[int, int, int, int]] = []

    @property
    def count(self) -> int:
        """How many there are."""
        return len(self.at) - 1

    def plain(self) -> list[int]:
        """Four numbers of each: its only part, where it has no more."""
        found: list[int] = []
        for begin, end in pairwise(self.at):
            its = self.parts[begin:end]
            found += its[0] if len(its) == 1 else (0, 0, 1, int(len(its) > 1))
        return found

    def add(self, code: Code) -> int:
        """The number of an expression."""
        for clause in _clauses(code, true=True):
            words: dict[int, tuple[int, int]] = {0: (0, 0)} if not clause else {}
            for flag, on in sorted(clause):
                word, bit = flag // 64, 1 << (flag % 64)
                mask, value = words.get(word, (0, 0))
                words[word] = mask | bit, value | (bit if on else 0)
            for n, (word, fit) in enumerate(words.items(), start=1):
                self.parts.append((word, *fit, int(n < len(words))))
        self.at.append(len(self.parts))
        return self.count - 1


def _clauses(code: Code, *, true: bool) -> list[Clause]:
    """The clauses of which one fits where ``code`` is ``true`` or not."""
    kind, *rest = code
    if kind == "const":
        return [frozenset()] if rest[0] is true else []
    if kind == "flag":
        return [frozenset({(int(rest[0]), true)})]  # type: ignore[arg-type]  # a number
    if kind == "not":
        return _clauses(rest[0], true=not true)  # type: ignore[arg-type]  # a code
    parts = [_clauses(term, true=true) for term in rest]  # type: ignore[arg-type]  # codes
    if (kind == "any") is true:
        found = [clause for part in parts for clause in part]
    else:
        found = [frozenset()]
        for part in parts:
            found = [a | b for a in found for b in part]
            found = [c for c in found if not any((flag, not on) in c for flag, on in c)]
            if len(found) > MOST_CLAUSES:
                raise Unpacked(len(found))
    return list(dict.fromkeys(found))


class Unpacked(Exception):
    """A rule has too many clauses to be packed."""


@lru_cache(maxsize=1024)
def _net(shape: Shape) -> tuple[Net, Places]:
    """A shape as arrays, and where each kind of number begins in a member's row."""
    from latchwork.behaviour.kernel_given import Code as Clauses
    from latchwork.behaviour.kernel_given import Logic, Net, Places
    from latchwork.circuit.kernel import Branches

    order = compile_shape(shape).order
    exprs = _Expressions()
    resets = {branch for branch, _, polymer in shape.fuses if polymer}
    branches = []
    for n, (_, _, code) in enumerate(shape.linear):
        gate = None if code[0] == "const" else exprs.add(code)
        if order.linear_slot[n] >= 0 and code != ("const", False):
            branches.append((n, order.linear_slot[n], gate))
    switched = {slot for _, slot, gate in branches if gate is not None}
    rail_slots = order.linear_slot[len(shape.linear) :]
    rail = [
        (plus, minus, exprs.add(code), slot if slot >= 0 else order.slots)
        for (plus, minus, code), slot in zip(shape.rails, rail_slots, strict=True)
    ]
    switching = exprs.count
    kinds, bank = _kinds(shape), bank_of(shape).tolist()
    device = [(exprs.add(on), exprs.add(low)) for _, _, _, on, low in shape.devices]
    gates = exprs.count
    gating = np.zeros(word_count(shape.flags), dtype=np.uint64)
    for word, mask, _, _ in exprs.parts:
        gating[word] |= np.uint64(mask)
    no_gate = 64 * word_count(gates)
    gated = [
        (n, slot, no_gate if gate is None else gate, int(n in resets))
        for n, slot, gate in branches
        if slot in switched
    ]
    sense = [
        (s.speed, (s.flag, int(s.either_way), exprs.add(s.needs), n))
        for n, s in enumerate(shape.senses)
    ]
    rule = [(speed, (flag, exprs.add(code))) for flag, code, speed in shape.rules]
    latch = [(speed, (f, exprs.add(s), exprs.add(r))) for f, s, r, speed in shape.latches]
    rows = (
        _table(_by_class(sense), 4),
        _table(_by_class(rule), 2),
        _table(_by_class(latch), 3),
        np.array([_begins(kind) for kind in (sense, rule, latch)], dtype=np.uint64),
        _table([(b.flag, int(b.either_way), exprs.add(b.needs)) for b in shape.bolts], 3),
        _table([(f, exprs.add(s), exprs.add(c), int(r)) for f, s, c, r in shape.timers], 4),
        _table([(*shape.linear[b][:2], blown, int(p), b) for b, blown, p in shape.fuses], 5),
        gating,
        np.array(
            [
                bits_of([flag for its, (flag, *_) in (*sense, *rule) if its == speed], shape.flags)
                for speed in range(len(Speed))
            ]
        ),
    )
    clauses = Clauses(_row(exprs.plain()), _row(exprs.at), _table(exprs.parts, 4))
    bank_rows = Branches(
        _row([shape.devices[n][1] for n in bank]),
        _row([shape.devices[n][2] for n in bank]),
        _row([slot if slot >= 0 else order.slots for slot in order.nonlinear_slot])[bank],
        _row([kinds.count(kind) for kind in BANK]),
        np.array(
            [k == POWER_LOAD for k, *_ in shape.devices if k not in (SOURCE, DIODE, CURVE)],
            dtype=bool,
        ),
        _row(order.second_slots),
    )
    net = Net(
        _level(order.first),
        _level(order.second),
        bank_rows,
        _table([(n, slot) for n, slot, _ in branches if slot not in switched], 2),
        _table(gated, 4),
        _table(rail, 4),
        _table([gates for gates, kind in zip(device, kinds, strict=True) if kind == 0], 2),
        _row([on for (on, _), kind in zip(device, kinds, strict=True) if kind == 1]),
        _table([(s.a, s.b) for s in (*shape.senses, *shape.bolts)], 2),
        bits_of(range(switching), gates),
        _row([shape.nodes, order.slots, gates, shape.flags, len(shape.linear)]),
        Logic(clauses, *rows),
    )
    return net, Places(*map(np.uint64, _places(shape)))


def _places(shape: Shape) -> list[int]:
    kinds = _kinds(shape)
    sources, loads, diodes = kinds.count(0), kinds.count(1), kinds.count(2)
    sizes = [
        len(shape.linear),
        *[len(shape.rails)] * 2,
        *[sources] * 5,
        *[loads] * 2,
        *[diodes] * 2,
        len(shape.fuses),
        *[len(shape.senses)] * 2,
        4 * len(shape.bolts),
    ]
    return [0, *np.cumsum(sizes).tolist()]


def word_count(bits: int) -> int:
    """How many words hold so many bits: one at least, as kernels read of it what hangs on none."""
    return max(1, (bits + 63) // 64)


def bits_of(numbers: Iterable[int], of: int) -> NDArray[np.uint64]:
    """Words in which these bits are set."""
    words = [0] * word_count(of)
    for n in numbers:
        words[n // 64] |= 1 << (n % 64)
    return np.array(words, dtype=np.uint64)


def _by_class(rows: Sequence[tuple[int, tuple[int, ...]]]) -> Rows:
    return [row for _, row in sorted(rows, key=lambda each: each[0])]


def _begins(rows: Sequence[tuple[int, tuple[int, ...]]]) -> list[int]:
    """Where each class begins among rows that are sorted by it."""
    return [sum(speed < its for speed, _ in rows) for its in range(len(Speed) + 1)]


def _row(numbers: Sequence[int]) -> Unsigned:
    return np.array(numbers, dtype=np.uint64)


def _table(rows: Rows, width: int) -> Unsigned:
    return np.array(rows, dtype=np.uint64).reshape(-1, width)


def _level(steps: Sequence[Step]) -> Level:
    """Elimination steps as arrays."""
    from latchwork.circuit.kernel import Level

    pairs = [sorted((min(i, j), max(i, j), slot) for i, j, slot in step.pairs) for step in steps]
    begins = np.cumsum([0, *(len(step.neighbours) for step in steps)]).tolist()
    pair_begins = np.cumsum([0, *(len(step.pairs) for step in steps)]).tolist()
    offsets = [
        pair + i * (2 * len(step.neighbours) - i - 1) // 2 - i - 1 - begin
        for step, begin, pair in zip(steps, begins, pair_begins, strict=False)
        for i in range(len(step.neighbours))
    ]
    return Level(
        _row([step.node for step in steps]),
        _row(begins),
        _row([n for step in steps for n in step.neighbours]),
        _row([s for step in steps for s in step.slots]),
        np.array(offsets, dtype=np.int64).astype(np.uint64),
        _row([slot for some in pairs for _, _, slot in some]),
    )
