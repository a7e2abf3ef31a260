"""Networks of any make, drawn at random: by compiled code and over rows, every bit.

Both are ours; what either says is held against something outside elsewhere. Here are shapes that no
door has: without sources, loads, bolts or timers, with logic that goes round, with figures that
leave a circuit without rest.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from random import Random

import numpy as np
import pytest

from latchwork.behaviour.shape import compile_shape, slim, stacked
from latchwork.behaviour.state import Batch, Forced, Members, State, dead, with_inputs
from latchwork.behaviour.timing import step
from latchwork.circuit import Work
from latchwork.elements import FALSE, All, Any_, Expr, Flag, LoadLaw, Not, Speed, TimerMode
from tests.behaviour.board import Board
from tests.behaviour.test_compiled import same

INPUTS = ("first", "second")
Draw = Callable[[Board, Random], object]
SPEEDS = (Speed.CONTROLLER, Speed.RELAY, Speed.LOCK, Speed.CUT_OFF)


@dataclass
class Making:
    """Parts of a board, each put on it with figures of its own for each member."""

    rng: Random
    nodes: tuple[str, ...]
    flags: list[str]

    def ends(self) -> tuple[str, str]:
        a, b = self.rng.sample(self.nodes, 2)
        return a, b

    def when(self, deep: int = 0) -> Expr:
        pick = self.rng.random()
        if deep > 1 or pick < 0.5:
            its: Expr = Flag(self.rng.choice(self.flags))
        else:
            both = (self.when(deep + 1), self.when(deep + 1))
            its = All(both) if pick < 0.75 else Any_(both)
        return Not(its) if self.rng.random() < 0.3 else its

    def logic(self, kind: str, name: str) -> Draw:
        a, b = self.ends()
        when, until, speed = self.when(), self.when(), self.rng.choice(SPEEDS)
        yes = self.rng.random() < 0.5
        match kind:
            case "sense":
                return lambda on, by: on.sense(
                    name, a, b, by.uniform(5, 20), by.uniform(1, 5), speed=speed, either_way=yes
                )
            case "bolt":
                return lambda on, by: on.bolt(name, a, b, *_four(by))
            case "rule":
                return lambda on, by: on.rule(name, when, speed)
            case "latch":
                return lambda on, by: on.latch(name, when, until, yes)
            case _:
                mode = (
                    TimerMode.ON_RISE if yes else next(m for m in TimerMode if m.name != "ON_RISE")
                )
                clear = until if self.rng.random() < 0.5 else FALSE
                return lambda on, by: on.timer(name, when, by.choice((0.5, 1.0, 7.0)), mode, clear)

    def part(self, kind: str, name: str) -> Draw:
        a, b = self.ends()
        when, yes = self.when(), self.rng.random() < 0.5
        law = LoadLaw.POWER if yes else LoadLaw.CURRENT
        match kind:
            case "fuse":
                return lambda on, by: on.fuse(name, a, b, 0.05, by.uniform(0.05, 4.0), yes)
            case "contact":
                return lambda on, by: on.contact(name, a, b, when)
            case "rail":
                return lambda on, by: on.rail(name, a, b, 5.0, by.uniform(100.0, 5000.0), when)
            case "source":
                return lambda on, by: on.source(
                    name, a, b, by.choice((12.0, 24.0)), 0.1, by.uniform(0.02, 4.0), 0.02
                )
            case "load":
                return lambda on, by: on.load(name, a, b, by.uniform(0.01, 3.0), 4.0, law, when)
            case "diode":
                return lambda on, by: on.diode(name, a, b)
            case _:
                return lambda on, by: on.ohm(name, a, b, by.choice((0.5, 4.0, 40.0, 400.0)))


def _four(by: Random) -> tuple[float, float, float, float]:
    return by.uniform(0, 20), by.uniform(0, 20), by.uniform(0, 20), by.uniform(0, 20)


LOGIC = ("sense", "bolt", "rule", "latch", "timer")
PARTS = ("fuse", "contact", "rail", "source", "load", "diode", "resistor", "resistor")


def members_of(rng: Random, count: int) -> tuple[list[int], Members]:
    """Networks of one shape; and their inputs."""
    nodes = ("0", *(f"n{n}" for n in range(rng.randint(2, 7))))
    wanted = [(kind, f"{kind} {n}") for kind in LOGIC for n in range(rng.randint(0, 2))]
    fuses = [f"fuse {n}" for n in range(rng.randint(0, 2))]
    flags = [*INPUTS, *(name for _, name in wanted), *(f"{name}.blown" for name in fuses)]
    making = Making(rng, nodes, flags)
    draws = [making.logic(kind, name) for kind, name in wanted]
    draws += [making.part("fuse", name) for name in fuses]
    draws += [
        making.part(kind, f"{kind}, {n}")
        for n, kind in enumerate(PARTS[1:] * 2)
        if rng.random() < 0.6
    ]
    draws.append(making.part("resistor", "one at least"))
    readies = []
    for _ in range(count):
        board = Board()
        for name in INPUTS:
            board.input(name)
        for draw in draws:
            draw(board, rng)
        readies.append(board.ready())
    net = readies[0].net
    values = stacked([ready.values for ready in readies], np.arange(count))
    values = slim(values) if rng.random() < 0.5 else values
    chance = np.random.default_rng(rng.randrange(2**32))
    forced = {}
    for flag, _, _ in net.shape.rules[:1]:
        there, to, fed = chance.random((3, count)) < 0.5
        feed = rng.choice((None, net.flags["first"]))
        forced[flag] = Forced(there, to, fed & (feed is not None), feed)
    return [net.flags[name] for name in INPUTS], Members(
        compile_shape(net.shape), values, count, forced
    )


def begun(batch: Batch, state: State, inputs: dict[int, np.ndarray]) -> State:
    """``state`` with inputs set, and what is stuck as it is stuck."""
    flags = with_inputs(state, inputs).flags.copy()
    for flag, stuck in batch.forced.items():
        flags[flag] = stuck.over(flags[flag], None if stuck.feed is None else flags[stuck.feed])
    return replace(state, flags=flags)


@pytest.mark.parametrize("count", [1, 2, 9])
def test_any_board_comes_to_the_same_both_ways(count: int) -> None:
    chattered = 0
    for seed in range(25):
        rng = Random(100 * count + seed)
        numbers, members = members_of(rng, count)
        batch = Batch(members, 3 * count, np.repeat(np.arange(count), 3))
        chance = np.random.default_rng(seed)
        state = dead(members.compiled, batch.columns)
        for _ in range(4):
            inputs = {n: chance.random(batch.columns) < 0.5 for n in numbers}
            state, seconds = begun(batch, state, inputs), rng.choice((0.0, 2.0, 9.0))
            members.answers.clear()
            other, theirs = step(batch, state, seconds, Work(compiled=True))
            state, ours = step(batch, state, seconds, Work())
            same(state, other)
            same(ours, theirs)
            chattered += int(ours.chatter.sum())
    assert chattered > 5
