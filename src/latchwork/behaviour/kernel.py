"""Contacts by fixed point and time, column by column, compiled: what ``settle`` and ``passing`` do,
in the same order of operations, so that positions and volts are the same to the bit.

Needs numba; imported only where it is asked for. What is compiled is kept on disk. Nothing here
explains a rule: see ``settle``, ``circles`` and ``timing``, which it follows. Columns of one member
stand together, so that a circuit reduced for one of them serves the next.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numba import uint64

from latchwork.behaviour.kernel_moves import (
    BIT,
    RELAY,
    WORD,
    Logic,
    Places,
    copy,
    gate_bits_one,
    lit,
    move,
    move_fastest_one,
    put_flag,
    same,
)
from latchwork.behaviour.positions import POLYMER_OHM
from latchwork.behaviour.settle import MOST_ROUNDS
from latchwork.behaviour.timing import MOST_EXPIRIES, STEP_END_S, STILL_CHATTERS, WATCHED_EXPIRIES
from latchwork.circuit.devices import LN_2
from latchwork.circuit.jit import kernel
from latchwork.circuit.kernel import (
    Branches,
    Level,
    eliminate_one,
    substitute_one,
    walk_one,
)

Array = np.ndarray[Any, Any]
ALWAYS, NEVER = -1, -2
KEPT = 12
"""Reductions of one member that are kept at a time."""
SLOWER = 3


class Net(NamedTuple):
    """A shape as arrays. ``linear``: gate (or always, never), whether it is a polymer fuse, slot;
    ``rail``: plus, minus, gate, slot; ``device``: kind (0 source, 1 load, 2 diode, 3 curve), row
    among those, gates of on and low, place in the bank; ``watch``: nodes of senses and bolts;
    ``switching``: which of the gates are of linear branches and rails; ``sizes``: nodes, slots,
    gates, flags."""

    first: Level
    second: Level
    branches: Branches
    linear: Array
    rail: Array
    device: Array
    watch: Array
    switching: Array
    sizes: Array
    logic: Logic


class Table(NamedTuple):
    """States and points of many columns, one row a column: what settling begins with and where it
    ends; then what it fills in."""

    flags: Array
    bolts: Array
    left_s: Array
    started: Array
    across: Array
    regions: Array
    volts: Array
    low: Array
    high: Array
    flips: Array
    chatter: Array
    solved: Array
    gates: Array
    """What the circuit was last solved with; then whether its volts hold for that."""
    known: Array


@kernel
def _loaded(
    linear: int,
    row: Array,
    at: Places,
    siemens_of: Array,
    sources: Array,
    diodes: Array,
    loads: Array,
) -> None:
    """Begin with another member."""
    for n in range(linear):
        siemens_of[n] = 1.0 / row[at.ohm + n]
    for k in range(len(sources)):
        sources[k, 1] = row[at.source_ohm + k]
        sources[k, 2] = row[at.source_limit_a + k]
        sources[k, 3] = row[at.source_fold_a + k]
    for k in range(len(diodes)):
        sat, scale = row[at.diode_a + k], row[at.diode_scale_v + k]
        diodes[k, 0] = sat
        diodes[k, 1] = scale
        _, doublings = math.frexp(scale / sat)
        diodes[k, 2] = scale * LN_2 * doublings
    for k in range(len(loads)):
        loads[k, 0] = row[at.load_amount + k]
        loads[k, 1] = row[at.load_floor_v + k]


@kernel
def _assembled(
    linear: Array,
    rail: Array,
    row: Array,
    rail_volt: int,
    rail_ohm: int,
    siemens_of: Array,
    bits: Array,
    siemens: Array,
    amps: Array,
) -> None:
    """Conductances by slot and currents by node with these gates."""
    siemens[:] = 0.0
    amps[:] = 0.0
    for n in range(len(linear)):
        gate, slot = linear[n, 0], linear[n, 2]
        if slot < 0 or gate == NEVER:
            continue
        if gate == ALWAYS or lit(gate, bits):
            siemens[slot] = siemens[slot] + siemens_of[n]
        elif linear[n, 1] == 1:
            siemens[slot] = siemens[slot] + 1.0 / POLYMER_OHM
    for n in range(len(rail)):
        if lit(rail[n, 2], bits):
            g = 1.0 / row[rail_ohm + n]
            i = g * row[rail_volt + n]
            slot = rail[n, 3]
            if slot >= 0:
                siemens[slot] = siemens[slot] + g
            amps[rail[n, 0]] = amps[rail[n, 0]] + i
            amps[rail[n, 1]] = amps[rail[n, 1]] - i


@kernel
def _found(kept_bits: Array, count: int, switching: Array, bits: Array) -> int:
    """Which of the kept reductions is for these gates; -1: none."""
    for k in range(count):
        found = True
        for n in range(len(switching)):
            if kept_bits[k, n] != bits[n] & switching[n]:
                found = False
                break
        if found:
            return k
    return -1


@kernel
def _switched(
    device: Array, row: Array, volt: int, low: int, bits: Array, sources: Array, loads: Array
) -> None:
    """Sources and loads with these gates."""
    for n in range(len(device)):
        kind, k = device[n, 0], device[n, 1]
        if kind == 0:
            sources[k, 0] = row[(low if lit(device[n, 3], bits) else volt) + k]
            sources[k, 4] = 1.0 if lit(device[n, 2], bits) else 0.0
            sources[k, 5] = sources[k, 0] - sources[k, 1] * sources[k, 2]
        elif kind == 1:
            loads[k, 2] = 1.0 if lit(device[n, 2], bits) else 0.0


@kernel
def _begun(sources: Array, first_load: int, across: Array, regions: Array) -> None:
    """Where the iteration begins without a start."""
    high = sources[0, 0] if len(sources) else 0.0
    for k in range(1, len(sources)):
        high = max(high, sources[k, 0])
    for n in range(len(across)):
        across[n] = high if n >= first_load else 0.0
    regions[:] = 1


@kernel
def _state(flags: Array, bolts: Array, left_s: Array, started: Array, out: Array) -> None:
    """The whole state as words."""
    for n in range(len(out)):
        out[n] = 0
    for n in range(len(flags)):
        out[n] = flags[n]
    at = len(flags) << WORD
    for n in range(len(left_s)):
        if started[n]:
            put_flag(at, True, out)
        if left_s[n] > 0.0:
            put_flag(at + 1, True, out)
        at += 2
    for n in range(len(bolts)):
        out[at >> WORD] |= uint64(bolts[n]) << uint64(at & BIT)
        at += 2


@kernel
def _marks(flags: Array, bolts: Array, out: Array) -> None:
    count = len(out) - len(bolts)
    for n in range(count):
        out[n] = lit(n, flags)
    for n in range(len(bolts)):
        out[count + n] = bolts[n]


@kernel
def _tempted(
    fresh: bool, k: int, marks: Array, other: Array, tempted: Array, target: Array, agreed: Array
) -> None:
    """Note where a slower class would go by itself."""
    for n in range(len(marks)):
        if other[n] != marks[n]:
            tempted[n] = True
        if fresh:
            target[k, n] = other[n]
        agreed[k, n] = other[n] == target[k, n] and (fresh or agreed[k, n])


@kernel
def _followed(
    flags: Array, bolts: Array, other: Array, moved: Array, target: Array, agreed: Array
) -> bool:
    """Let the fastest of the slower classes that can follow the circle do so; whether one did."""
    _marks(flags, bolts, other)
    followed = False
    for k in range(SLOWER):
        if followed:
            break
        for n in range(len(other)):
            if agreed[k, n] and not moved[n] and target[k, n] != other[n]:
                other[n] = target[k, n]
                followed = True
    count = len(other) - len(bolts)
    for n in range(count):
        put_flag(n, other[n] == 1, flags)
    for n in range(len(bolts)):
        bolts[n] = other[count + n]
    return followed


@kernel
def _followed_before(
    epochs: int, key: Array, epoch_key: Array, epoch_moved: Array, moved: Array
) -> bool:
    """Whether this state was followed into before; what moved since then is added to ``moved``."""
    for before in range(epochs - 1, -1, -1):
        if same(epoch_key[before], key):
            for k in range(before, epochs):
                for n in range(epoch_moved.shape[1]):
                    if epoch_moved[k, n]:
                        moved[n] = True
            return True
    copy(key, epoch_key[epochs])
    for n in range(epoch_moved.shape[1]):
        epoch_moved[epochs, n] = False
    return False


class Room(NamedTuple):
    """Room to work in. First the reductions of one member that are kept: the gates they are for,
    and what they left; then the column that is run, and what the solver needs; then what is noted
    of circles (see ``Circles``)."""

    kept_bits: Array
    kept_s: Array
    kept_a: Array
    kept_ratios: Array
    kept_own: Array
    shares: Array
    present: Array
    sources: Array
    diodes: Array
    loads: Array
    curve: Array
    ratios: Array
    own: Array
    fresh_v: Array
    law_s: Array
    law_a: Array
    next_regions: Array
    siemens_of: Array
    siemens: Array
    amps: Array
    volts: Array
    across: Array
    regions: Array
    flags: Array
    last: Array
    before: Array
    bolts: Array
    left_s: Array
    started: Array
    seen: Array
    watched: Array
    stuck: Array
    low: Array
    high: Array
    flips: Array
    bits: Array
    after: Array
    marks: Array
    other: Array
    moved: Array
    tempted: Array
    agreed: Array
    target: Array
    history: Array
    key: Array
    epoch_key: Array
    epoch_moved: Array
    w_flags: Array
    w_bolts: Array
    w_left_s: Array
    w_started: Array


def room(net: Net, points: int) -> Room:
    """Room for the columns of a shape; ``points`` of its curve."""
    nodes, slots, _, flags = net.sizes.tolist()
    d, j, a, _ = net.branches.counts.tolist()
    devices, bolts, timers = len(net.device), len(net.logic.bolt), len(net.logic.timer)
    watch, gates = len(net.watch), len(net.switching)
    words, size = (flags + BIT) >> WORD, flags + bolts
    state = words + ((2 * (timers + bolts) + BIT) >> WORD)
    degrees = [np.diff(level.begin).max(initial=1) for level in (net.first, net.second)]

    def floats(*shape: int) -> Array:
        return np.zeros(shape)

    def bools(*shape: int) -> Array:
        return np.zeros(shape, dtype=bool)

    def small(*shape: int) -> Array:
        return np.zeros(shape, dtype=np.int8)

    def bits(*shape: int) -> Array:
        return np.zeros(shape, dtype=np.uint64)

    return Room(
        kept_bits=bits(KEPT, gates),
        kept_s=floats(KEPT, slots),
        kept_a=floats(KEPT, nodes),
        kept_ratios=floats(KEPT, len(net.first.neighbour)),
        kept_own=floats(KEPT, len(net.first.node)),
        shares=floats(max(degrees)),
        present=np.zeros(max(degrees), dtype=np.int64),
        sources=floats(d, 6),
        diodes=floats(j, 3),
        loads=floats(a, 3),
        curve=floats(2, points),
        ratios=floats(len(net.second.neighbour)),
        own=floats(len(net.second.node)),
        fresh_v=floats(devices),
        law_s=floats(devices),
        law_a=floats(devices),
        next_regions=small(d),
        siemens_of=floats(len(net.linear)),
        siemens=floats(slots),
        amps=floats(nodes),
        volts=floats(nodes),
        across=floats(devices),
        regions=small(d),
        flags=bits(words),
        last=bits(words),
        before=bits(words),
        bolts=small(bolts),
        left_s=floats(timers),
        started=bools(timers),
        seen=floats(bolts),
        watched=floats(watch),
        stuck=bits(3, words),
        low=floats(watch),
        high=floats(watch),
        flips=bools(flags),
        bits=bits(gates),
        after=bits(gates),
        marks=small(size),
        other=small(size),
        moved=bools(size),
        tempted=bools(size),
        agreed=bools(SLOWER, size),
        target=small(SLOWER, size),
        history=bits(MOST_ROUNDS, state),
        key=bits(state),
        epoch_key=bits(MOST_ROUNDS, state),
        epoch_moved=bools(MOST_ROUNDS, flags),
        w_flags=bits(words),
        w_bolts=small(bolts),
        w_left_s=floats(timers),
        w_started=bools(timers),
    )


@kernel
def run_columns(
    net: Net,
    places: Places,
    numbers: Array,
    member: Array,
    points: Array,
    curves: Array,
    which_curve: Array,
    stuck_of: Array,
    feed: Array,
    settles: bool,
    begun: bool,
    frozen: bool,
    seconds: float,
    table: Table,
    room: Room,
    work: Array,
) -> None:
    """Bring every column of ``table`` to rest, where it ``settles``; then let ``seconds`` pass.

    ``numbers``: members x numbers; ``member``: whose each column is; ``which_curve``: which of the
    ``curves`` it has; ``stuck_of``: members x (off, on, on while fed) x words; ``begun``: the
    iteration has a start. ``work``: solves, reductions, steps,
    positions known already.
    """
    logic = net.logic
    code, where, fits, begins = logic.at, logic.where, logic.fits, logic.begins
    sense, rule, latch = logic.sense, logic.rule, logic.latch
    bolt, timer, fuse = logic.bolt, logic.timer, logic.fuse
    linear, rail, device, watch = net.linear, net.rail, net.device, net.watch
    switching, first, second, branches = net.switching, net.first, net.second, net.branches
    f_node, f_begin, f_next, f_slot = first.node, first.begin, first.neighbour, first.slot
    f_pair, f_pair_slot = first.pair_begin, first.pair_slot
    s_node, s_begin, s_next, s_slot = second.node, second.begin, second.neighbour, second.slot
    s_pair, s_pair_slot = second.pair_begin, second.pair_slot
    plus, minus, into = branches.plus, branches.minus, branches.into
    power, second_slots = branches.power, branches.second_slots
    gates, flag_count = net.sizes[2], net.sizes[3]
    d, j = branches.counts[0], branches.counts[1]
    kept_bits, kept_s, kept_a, kept_ratios, kept_own = (
        room.kept_bits,
        room.kept_s,
        room.kept_a,
        room.kept_ratios,
        room.kept_own,
    )
    shares, present, sources, diodes, loads = (
        room.shares,
        room.present,
        room.sources,
        room.diodes,
        room.loads,
    )
    curve, ratios, own, fresh_v, law_s = (
        room.curve,
        room.ratios,
        room.own,
        room.fresh_v,
        room.law_s,
    )
    law_a, next_regions, siemens_of, siemens, amps = (
        room.law_a,
        room.next_regions,
        room.siemens_of,
        room.siemens,
        room.amps,
    )
    volts, across, regions, flags, last = (
        room.volts,
        room.across,
        room.regions,
        room.flags,
        room.last,
    )
    before, bolts, left_s, started, seen = (
        room.before,
        room.bolts,
        room.left_s,
        room.started,
        room.seen,
    )
    watched, stuck, low, high, flips = room.watched, room.stuck, room.low, room.high, room.flips
    bits, after, marks, other, moved = room.bits, room.after, room.marks, room.other, room.moved
    tempted, agreed, target, history, key = (
        room.tempted,
        room.agreed,
        room.target,
        room.history,
        room.key,
    )
    epoch_key, epoch_moved, w_flags, w_bolts, w_left_s = (
        room.epoch_key,
        room.epoch_moved,
        room.w_flags,
        room.w_bolts,
        room.w_left_s,
    )
    w_started = room.w_started
    copy(points, curve[0])
    bolt_count, timers, size = len(bolt), len(timer), len(marks)

    loaded, kept_count, kept_next = -1, 0, 0
    solves, reductions, steps, known = 0, 0, 0, 0
    for c in range(len(member)):
        m = member[c]
        row = numbers[m if len(numbers) > 1 else 0]
        left, in_a_row, due = seconds, 0, False
        for expiries in range(-1 if settles else 0, MOST_EXPIRIES + 1):
            settling = expiries < 0
            soonest = np.inf
            if not settling:
                for n in range(timers):
                    if table.left_s[c, n] > 0.0:
                        soonest = min(soonest, table.left_s[c, n])
                due = soonest <= left and in_a_row < STILL_CHATTERS
                if not due or expiries == MOST_EXPIRIES:
                    break
            if m != loaded:
                _loaded(len(linear), row, places, siemens_of, sources, diodes, loads)
                for n in range(3):
                    copy(stuck_of[m if len(stuck_of) > 1 else 0, n], stuck[n])
                loaded, kept_count, kept_next = m, 0, 0
            if len(points):
                copy(curves[which_curve[c] if len(curves) > 1 else 0], curve[1])
            for n in range(flag_count):
                put_flag(n, table.flags[c, n], flags)
            for n in range(bolt_count):
                bolts[n] = table.bolts[c, n]
            for n in range(timers):
                left_s[n] = table.left_s[c, n]
                started[n] = table.started[c, n]
            for n in range(len(device)):
                across[n] = table.across[c, n]
            for n in range(d):
                regions[n] = table.regions[c, n]
            if not settling:
                for n in range(timers):
                    if left_s[n] > 0.0:
                        left_s[n] = max(left_s[n] - soonest, STEP_END_S)
                        if left_s[n] <= STEP_END_S:
                            left_s[n] = 0.0
                            put_flag(timer[n, 0], False, flags)
                left -= soonest

            for n in range(len(watch)):
                low[n] = np.inf
                high[n] = -np.inf
            flips[:] = False
            round_left, since, rounds, epochs = 0, 0, 0, 0
            fresh, chatter, solved = False, False, True
            gate_bits_one(gates, code, where, fits, flags, bits)
            for turn in range(MOST_ROUNDS):
                quiet = turn == 0 and table.known[c]
                for n in range(gates):
                    quiet = quiet and table.gates[c, n] == lit(n, bits)
                if quiet:
                    copy(table.volts[c], volts)
                    solved = True
                    known += 1
                else:
                    _switched(
                        device,
                        row,
                        places.source_volt,
                        places.source_low_volt,
                        bits,
                        sources,
                        loads,
                    )
                    if settling and not begun and turn == 0:
                        _begun(sources, d + j, across, regions)
                    for k in range(d):
                        if not sources[k, 4] > 0.0:
                            regions[k] = 0
                    k = _found(kept_bits, kept_count, switching, bits)
                    if k < 0:
                        k = kept_next
                        kept_next = (k + 1) % KEPT
                        kept_count = max(kept_count, k + 1)
                        for n in range(len(switching)):
                            kept_bits[k, n] = bits[n] & switching[n]
                        _assembled(
                            linear,
                            rail,
                            row,
                            places.rail_volt,
                            places.rail_ohm,
                            siemens_of,
                            bits,
                            siemens,
                            amps,
                        )
                        eliminate_one(
                            f_node,
                            f_begin,
                            f_next,
                            f_slot,
                            f_pair,
                            f_pair_slot,
                            siemens,
                            amps,
                            kept_ratios[k],
                            kept_own[k],
                            shares,
                            present,
                        )
                        for slot in second_slots:
                            kept_s[k, slot] = siemens[slot]
                        for node in s_node:
                            kept_a[k, node] = amps[node]
                        reductions += 1
                    solved, its = walk_one(
                        s_node,
                        s_begin,
                        s_next,
                        s_slot,
                        s_pair,
                        s_pair_slot,
                        plus,
                        minus,
                        into,
                        power,
                        second_slots,
                        sources,
                        diodes,
                        loads,
                        curve,
                        kept_s[k],
                        kept_a[k],
                        across,
                        regions,
                        volts,
                        siemens,
                        amps,
                        ratios,
                        own,
                        shares,
                        present,
                        fresh_v,
                        law_s,
                        law_a,
                        next_regions,
                    )
                    substitute_one(f_node, f_begin, f_next, kept_ratios[k], kept_own[k], volts)
                    solves += 1
                    steps += its
                for n in range(len(watch)):
                    v = volts[watch[n, 0]] - volts[watch[n, 1]]
                    watched[n] = v
                    low[n] = min(low[n], v)
                    high[n] = max(high[n], v)
                watching = round_left > 0
                if watching:
                    copy(flags, w_flags)
                    copy(bolts, w_bolts)
                    copy(left_s, w_left_s)
                    copy(started, w_started)
                    _marks(flags, bolts, marks)
                    for k in range(SLOWER):
                        move(
                            RELAY + k,
                            frozen,
                            code,
                            where,
                            fits,
                            sense,
                            rule,
                            latch,
                            begins,
                            bolt,
                            timer,
                            fuse,
                            row,
                            places,
                            volts,
                            watched,
                            flags,
                            bolts,
                            left_s,
                            started,
                            stuck,
                            feed,
                            last,
                            before,
                            seen,
                        )
                        _marks(flags, bolts, other)
                        copy(w_flags, flags)
                        copy(w_bolts, bolts)
                        copy(w_left_s, left_s)
                        copy(w_started, started)
                        _tempted(fresh, k, marks, other, tempted, target, agreed)
                if epochs:
                    copy(flags, w_flags)
                wants = move_fastest_one(
                    frozen,
                    gates,
                    code,
                    where,
                    fits,
                    sense,
                    rule,
                    latch,
                    begins,
                    bolt,
                    timer,
                    fuse,
                    row,
                    places,
                    volts,
                    watched,
                    flags,
                    bolts,
                    left_s,
                    started,
                    stuck,
                    feed,
                    last,
                    before,
                    seen,
                    bits,
                    after,
                )
                if epochs:
                    for n in range(flag_count):
                        if lit(n, w_flags) != lit(n, flags):
                            epoch_moved[epochs - 1, n] = True
                if watching:
                    _marks(flags, bolts, other)
                    for n in range(size):
                        if marks[n] != other[n]:
                            moved[n] = True
                    fresh = False
                    round_left -= 1
                    if round_left == 0:
                        since = rounds
                        goes_on = _followed(flags, bolts, other, moved, target, agreed)
                        if goes_on:
                            _state(flags, bolts, left_s, started, key)
                            if _followed_before(epochs, key, epoch_key, epoch_moved, moved):
                                goes_on = False
                            else:
                                epochs += 1
                                gate_bits_one(gates, code, where, fits, flags, after)
                        if not goes_on:
                            chatter = True
                            for n in range(flag_count):
                                flips[n] = moved[n] or tempted[n]
                            for n in range(bolt_count):
                                if moved[flag_count + n] or tempted[flag_count + n]:
                                    flips[bolt[n, 0]] = True
                if wants:
                    _state(flags, bolts, left_s, started, history[rounds])
                    if not chatter and round_left == 0:
                        for at_round in range(rounds - 1, since - 1, -1):
                            if same(history[at_round], history[rounds]):
                                round_left = rounds - at_round
                                fresh = True
                                moved[:] = False
                                tempted[:] = False
                                break
                    rounds += 1
                if turn == MOST_ROUNDS - 1 and wants:
                    chatter = True
                if chatter or not wants:
                    break
                for n in range(len(bits)):
                    bits[n] = after[n]

            if expiries >= MOST_EXPIRIES - WATCHED_EXPIRIES:
                for n in range(flag_count):
                    if table.flags[c, n] != lit(n, flags):
                        flips[n] = True
            for n in range(flag_count):
                table.flags[c, n] = lit(n, flags)
                table.flips[c, n] = flips[n] or (not settling and table.flips[c, n])
            for n in range(bolt_count):
                table.bolts[c, n] = bolts[n]
            for n in range(timers):
                table.left_s[c, n] = left_s[n]
                table.started[c, n] = started[n]
            for n in range(len(device)):
                table.across[c, n] = across[n]
            for n in range(d):
                table.regions[c, n] = regions[n]
            copy(volts, table.volts[c])
            for n in range(gates):
                table.gates[c, n] = lit(n, bits)
            table.known[c] = solved
            for n in range(len(watch)):
                table.low[c, n] = low[n] if settling else min(table.low[c, n], low[n])
                table.high[c, n] = high[n] if settling else max(table.high[c, n], high[n])
            table.solved[c] = solved and (settling or table.solved[c])
            table.chatter[c] = chatter or (not settling and table.chatter[c])
            if settling:
                if seconds < 0.0:
                    break
            else:
                in_a_row = in_a_row + 1 if chatter else 0
        if due:
            table.chatter[c] = True
        if seconds >= 0.0:
            for n in range(timers):
                if table.left_s[c, n] > 0.0:
                    table.left_s[c, n] = max(table.left_s[c, n] - left, STEP_END_S)
    work[0] += solves
    work[1] += reductions
    work[2] += steps
    work[3] += known
