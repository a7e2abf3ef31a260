"""What-ifs a second of ngspice's shared library, one process a core, beside ours.

The circuit of a supply is loaded once. Each process takes the what-ifs of its own faults, given
where every contact comes to rest, and for each moment alters the numbers that differ from the
moment before and asks for `op`. Moments of one fault stand so that few numbers differ from one to
the next; sorting them, and reading and comparing the volts, is off the clock. Many moments of one
fault have the same circuit: each is solved all the same, and how many they are is printed.
"""

from __future__ import annotations

import ctypes
import ctypes.util
import math
import multiprocessing
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from _jobs import job_text
from latchwork.behaviour import Case
from latchwork.behaviour.positions import conductance_rows, device_rows
from latchwork.behaviour.shape import DIODE, POWER_LOAD, SOURCE, compile_shape
from latchwork.behaviour.state import take_values
from latchwork.circuit import DiodeRow, LoadRow, SourceRow, Work, device_current
from latchwork.circuit.devices import LIMIT_S
from latchwork.faults.engine import Cell, solve_edits
from latchwork.faults.looks import MOMENTS, Looks
from latchwork.faults.prepare import groups_of, prepare_whole
from latchwork.faults.spread import cores
from latchwork.job import read_job_text
from latchwork.parts import catalogue
from latchwork.plan import plan
from latchwork.wiring import wire

Array = NDArray[np.float64]
DOORS = 52
"""So many doors have one supply of each of the generator's sizes."""
FAULTS = 24
"""Faults of one door that each process takes, through all situations."""
MODE = "`op` after `alter` of what differs from the moment before, circuit loaded once"
OPTIONS = ".options noacct gmin=1e-15 rshunt=1e10 temp=26.85 tnom=26.85"
"""ngspice's own tolerances, as tight as need be for a millivolt and no tighter."""
OPEN_OHM = 1e15
GONE = 1e-21
"""Area of a diode that is not there."""
LEAK_S = 1e-10
"""What a reversed load and a supply above its volts let through, so that ngspice finds back."""
OFF_A = 1e-6
"""What carries less holds no node in its place."""
AT_A_TIME = 50
"""Answers kept before they are thrown away."""


class Library:
    """ngspice's shared library in this process: one circuit at a time."""

    def __init__(self, deck: Sequence[str]) -> None:
        name = ctypes.util.find_library("ngspice")
        if name is None:
            raise SystemExit("ngspice's shared library is not there: scripts/system_packages.py")
        self._lib = ctypes.CDLL(name)
        self._lib.ngGet_Vec_Info.restype = ctypes.POINTER(_Vector)
        self._exit = _EXIT(lambda *_: 0)
        self._lib.ngSpice_Init(None, None, self._exit, None, None, None, None)
        lines = [line.encode() for line in ("one", *deck, OPTIONS, ".end")]
        array = (ctypes.c_char_p * (len(lines) + 1))(*lines, None)
        if self._lib.ngSpice_Circ(array):
            raise SystemExit("ngspice does not take the circuit")

    def do(self, command: str) -> None:
        """One command."""
        self._lib.ngSpice_Command(command.encode())

    def volts(self, node: str) -> float:
        """Volts of a node in the last answer; not a number where there is none."""
        vector = self._lib.ngGet_Vec_Info(node.encode())
        return float(vector.contents.real[0]) if vector and vector.contents.length else math.nan


class _Vector(ctypes.Structure):
    """`vector_info` of sharedspice.h."""

    _fields_ = [
        ("name", ctypes.c_char_p),
        ("type", ctypes.c_int),
        ("flags", ctypes.c_short),
        ("real", ctypes.POINTER(ctypes.c_double)),
        ("complex", ctypes.c_void_p),
        ("length", ctypes.c_int),
    ]


_EXIT = ctypes.CFUNCTYPE(
    ctypes.c_int, ctypes.c_int, ctypes.c_bool, ctypes.c_bool, ctypes.c_int, ctypes.c_void_p
)


@dataclass(frozen=True)
class Moments:
    """Both moments of some what-ifs: ``deck`` with the numbers of the first, ``numbers`` (one row
    an altered number, one column a moment) and what alters each; our volts, nodes x moments, and
    which nodes something holds. What-ifs that do not come to rest are left out, and situations that
    the network does not tell apart from others."""

    deck: tuple[str, ...]
    alters: tuple[str, ...]
    numbers: Array
    volts: Array
    tied: NDArray[np.bool_]

    def commands(self) -> Iterator[list[str]]:
        """What is to be said before each moment; before the first one, every number."""
        before = np.full(len(self.numbers), np.nan)
        for new in self.numbers.T:
            rows = np.flatnonzero(before != new).tolist()
            before = new
            yield [f"{self.alters[row]} = {new[row]:.12g}" for row in rows]


def moments(cell: Cell, door: int, faults: Sequence[int]) -> Moments:
    """The moments of some faults of a cell in the situations of one of its doors."""
    edits = [cell.faults[n].edits for n in faults]
    looks = Looks(solve_edits([cell], [0] * len(edits), edits, cell.scripts[door], Work()))
    calm = looks.solved.all_solved() & ~looks.solved.any_chatter()
    columns = cell.scripts[door].columns
    for column, its in enumerate(columns):
        calm[:, column] &= columns.index(its) == column
    where = np.repeat(np.argwhere(calm), 2, axis=0)
    held = np.tile(np.array(MOMENTS), len(where) // 2)
    flags, volts = (
        np.where(held, *(looks.solved.at(what, *where.T, held=h) for h in (True, False)))
        for what in ("flags", "volts")
    )
    parts = _parts(cell, looks, where[:, 0], flags, volts)
    order = _near(parts.numbers, where[:, 0])
    return Moments(
        parts.deck,
        parts.alters,
        parts.numbers[:, order],
        parts.volts[:, order],
        parts.tied[:, order],
    )


def _near(numbers: Array, fault: NDArray[np.intp]) -> list[int]:
    """The moments, fault by fault, each followed by the one that differs least from it."""
    order: list[int] = []
    for each in dict.fromkeys(fault.tolist()):
        left = np.flatnonzero(fault == each).tolist()
        while left:
            last = numbers[:, order[-1] if order else left[0]]
            differ = (numbers[:, left] != last[:, np.newaxis]).sum(axis=0)
            order.append(left.pop(int(differ.argmin())))
    return order


def _parts(
    cell: Cell, looks: Looks, member: NDArray[np.intp], flags: NDArray[np.bool_], volts: Array
) -> Moments:
    """Every branch as a line of the deck, and the numbers that differ from moment to moment."""
    compiled, shape = compile_shape(cell.network.shape), cell.network.shape
    values = take_values(looks.run.values, member)
    count = flags.shape[1]
    lines = ["V0 n0 0 0", ".model valve D(IS=1e-9 N=1.8)"]
    alters: list[str] = []
    numbers: list[Array] = []
    links: list[tuple[int, int, NDArray[np.bool_]]] = []

    def number(alter: str, row: Array) -> float:
        whole = np.broadcast_to(row, (count,)).astype(float)
        if (whole != whole[0]).any():
            alters.append(alter)
            numbers.append(whole)
        return float(whole[-1])

    def told(name: str, row: Array) -> str:
        """A number that a law reads: a node where it is altered."""
        last = number(f"alter vc{name}", row)
        if f"alter vc{name}" not in alters:
            return f"{last:.12g}"
        lines.append(f"Vc{name} c{name} 0 {last:.12g}")
        return f"V(c{name})"

    pairs = [(a, b) for a, b, _ in (*shape.linear, *shape.rails)]
    rows = conductance_rows(compiled, values, flags)
    for n, ((a, b), row) in enumerate(zip(pairs, rows, strict=True)):
        if row is None:
            continue
        siemens = np.broadcast_to(row, (count,))
        if not siemens.any():
            continue
        ohm = 1.0 / np.maximum(siemens, 1.0 / OPEN_OHM)
        rail = n - len(shape.linear)
        if rail >= 0:
            lines.append(f"Vp{n} p{n} n{b} {np.ravel(values.rail_volt[rail])[0]:.12g}")
        start = f"p{n}" if rail >= 0 else f"n{b}"
        lines.append(f"R{n} n{a} {start} {number(f'alter r{n}', ohm):.12g}")
        links.append((a, b, siemens > 0.0))
    devices = device_rows(compiled, values, flags)
    for n, ((kind, a, b, _, _), device) in enumerate(zip(shape.devices, devices, strict=True)):
        v = f"V(n{a},n{b})"
        across = volts[a] - volts[b]
        match device:
            case SourceRow():
                assert kind == SOURCE
                volt, on = told(f"{n}v", device.volt), told(f"{n}on", device.on)
                ohm_row, limit = told(f"{n}r", device.ohm), float(np.ravel(device.limit_a)[0])
                fold = float(np.ravel(device.fold_a)[0])
                giving = f"({volt} - {v}) / {ohm_row}"
                knee = f"({volt} - {ohm_row} * {limit:.12g})"
                folded = f"{fold:.12g} + {limit - fold:.12g} * max({v}, 0) / {knee}"
                limited = f"{folded} + {LIMIT_S} * ({knee} - {v})"
                law = f"{v} >= {knee} ? {giving} : ({limited})"
                if limit > 1e6:
                    law = giving
                law = f"{v} >= {volt} ? {LEAK_S} * ({volt} - {v}) : ({law})"
                lines.append(f"B{n} n{b} n{a} I = {on} * ({law})")
                links.append(
                    (a, b, (device.on > 0.0) & ((device.volt - across) / device.ohm > OFF_A))
                )
            case LoadRow():
                power = kind == POWER_LOAD
                amount = told(f"{n}a", device.amount * device.on)
                floor = float(np.ravel(device.floor_v)[0])
                above = f"{amount} / {v}" if power else amount
                below = f"{amount} / {floor ** (2 if power else 1):.12g} * {v}"
                law = f"{v} >= 0 ? {below} : {LEAK_S} * {v}"
                lines.append(f"B{n} n{a} n{b} I = {v} >= {floor:.12g} ? {above} : ({law})")
                links.append((a, b, device_current(device, across, np.zeros(1, np.int8)) > OFF_A))
            case DiodeRow():
                assert kind == DIODE
                saturation = np.broadcast_to(device.saturation_a, (count,))
                there = np.where(saturation < 1e-20, GONE, 1.0)
                lines.append(f"D{n} n{a} n{b} valve area={number(f'alter d{n} area', there):.12g}")
                links.append((a, b, device_current(device, across, np.zeros(1, np.int8)) > OFF_A))
    lines += [f".nodeset V(n{k})={volts[k, -1]:.9g}" for k in range(1, shape.nodes)]
    tied = _tied(shape.nodes, links, count)
    return Moments(tuple(lines), tuple(alters), np.array(numbers), volts, tied)


def _tied(
    nodes: int, links: Sequence[tuple[int, int, NDArray[np.bool_]]], count: int
) -> NDArray[np.bool_]:
    """Which nodes something ties to the reference (nodes x moments); ``links``: the two nodes of
    each branch, and in which moments it conducts."""
    tied = np.zeros((nodes, count), dtype=bool)
    tied[0] = True
    before = 0
    while before != tied.sum():
        before = tied.sum()
        for a, b, on in links:
            tied[a] |= tied[b] & on
            tied[b] |= tied[a] & on
    return tied


@dataclass(frozen=True)
class _Came:
    """What one process did: moments solved, the seconds, the largest difference to ours, and how
    many of the moments it compared had no answer."""

    solved: int
    seconds: float
    worst_v: float
    compared: int
    silent: int


def _timed(work: tuple[Moments, float]) -> _Came:
    """Go round the moments for so many seconds; in the first round read and compare the volts."""
    its, seconds = work
    spice = Library(its.deck)
    commands = list(its.commands())
    nodes = [f"n{k}" for k in range(its.volts.shape[0])]
    solved, silent, spent, worst = 0, 0, 0.0, 0.0
    end = time.perf_counter() + seconds
    while (start := time.perf_counter()) < end:
        n = solved % len(commands)
        for command in commands[n]:
            spice.do(command)
        spice.do("op")
        spent += time.perf_counter() - start
        if solved < len(commands):
            theirs = np.array([spice.volts(node) for node in nodes])
            apart_v = float(np.abs(theirs - its.volts[:, n])[its.tied[:, n]].max())
            silent += math.isnan(apart_v)
            worst = max(worst, 0.0 if math.isnan(apart_v) else apart_v)
        solved += 1
        if solved % AT_A_TIME == 0:
            start = time.perf_counter()
            spice.do("destroy all")
            spent += time.perf_counter() - start
    return _Came(solved, spent, worst, min(solved, len(commands)), silent)


def measure(doors_per_supply: int, seconds: float) -> tuple[float, float]:
    """What-ifs a second over all cores, and the largest difference in volts to ours at nodes that
    something holds. A what-if is one fault in one situation: both its moments are solved."""
    wiring = wire(plan(read_job_text(job_text(DOORS), "job.yaml"), catalogue()))
    group = next(g for g in groups_of(wiring) if len(g.doors) == doors_per_supply)
    (item,) = prepare_whole(wiring, [group], Case.NOMINAL, lambda _: True)
    cell = item.cell
    rng = np.random.default_rng(1)
    lots = []
    for n in range(cores()):
        door = n % len(cell.doors)
        own = [k for k, f in enumerate(cell.faults) if f.id.startswith(f"{cell.doors[door]}.")]
        lots.append(moments(cell, door, sorted(rng.choice(own, FAULTS, replace=False).tolist())))
    with multiprocessing.get_context("fork").Pool(len(lots)) as pool:
        came = pool.map(_timed, [(lot, seconds) for lot in lots], chunksize=1)
    per_s = sum(c.solved / c.seconds for c in came) / len(MOMENTS)
    worst = max(c.worst_v for c in came)
    silent, compared = sum(c.silent for c in came), sum(c.compared for c in came)
    alike = np.mean([not each for lot in lots for each in lot.commands()])
    print(
        f"ngspice, {doors_per_supply} on a supply, {cell.network.shape.nodes} nodes, "
        f"{len(lots)} cores: {MODE} ({alike:.0%} differ in nothing). {per_s:.0f} what-ifs/s; "
        f"{compared} moments compared, {silent} without answer, largest difference {worst:.2g} V",
        flush=True,
    )
    return per_s, worst


if __name__ == "__main__":
    for count in (1, 16):
        measure(count, 6.0)
