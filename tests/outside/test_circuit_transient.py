"""Relays that settle, or never do, against ngspice's own time-domain run.

Each relay is a coil, contacts at either rest, and a lag that is some thirty times that of the next
faster class, as classes move one after another; ngspice has them as switches with hysteresis. The
supply comes on at nought. What ends at rest must end in the same positions; what chatters here
must go on changing over there.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest

from latchwork.elements import Flag, Speed
from tests.behaviour.board import Board, Ready
from tests.outside.spice import transients

LAG_S = {Speed.CONTROLLER: 1e-3, Speed.RELAY: 3e-2, Speed.LOCK: 1.0}
SPEEDS = tuple(LAG_S)
CLOSED_OHM = 0.05
END_S, SLOW_END_S = 10.0, 40.0
"""How long a run lasts; one in which the slowest class alone goes round lasts some of its rounds,
each of several lags where it comes close to its threshold."""
NODES = ("+", "0", "a", "b", "c", "d", "e")


@dataclass(frozen=True)
class Relay:
    speed: Speed
    a: str
    b: str
    ohm: float
    on_v: float
    off_v: float


@dataclass(frozen=True)
class Contact:
    relay: int
    a: str
    b: str
    closed_at_rest: bool


@dataclass(frozen=True)
class Relays:
    volt: float
    resistances: tuple[tuple[str, str, float], ...]
    relays: tuple[Relay, ...]
    contacts: tuple[Contact, ...]

    def ready(self) -> Ready:
        board = Board()
        board.source("psu", "+", "0", self.volt, 0.05)
        for n, (a, b, ohm) in enumerate(self.resistances):
            board.ohm(f"r{n}", a, b, ohm)
        for n, k in enumerate(self.relays):
            board.ohm(f"coil{n}", k.a, k.b, k.ohm)
            board.sense(f"k{n}", k.a, k.b, k.on_v, k.off_v, speed=k.speed, either_way=True)
        for n, c in enumerate(self.contacts):
            pulled = Flag(f"k{c.relay}")
            board.contact(f"c{n}", c.a, c.b, ~pulled if c.closed_at_rest else pulled, CLOSED_OHM)
        return board.ready()

    def deck(self) -> list[str]:
        def node(name: str) -> str:
            return {"+": "p", "0": "0"}.get(name, f"x{name}")

        lines = [f"Vs s 0 {self.volt}", "Rs s p 0.05", "Vone one 0 1"]
        for n, (a, b, ohm) in enumerate(self.resistances):
            lines.append(f"Rr{n} {node(a)} {node(b)} {ohm}")
        for n, k in enumerate(self.relays):
            middle, half = (k.on_v + k.off_v) / 2.0, (k.on_v - k.off_v) / 2.0
            lines += [
                f"Rc{n} {node(k.a)} {node(k.b)} {k.ohm}",
                f"Bk{n} q{n} 0 V = abs(V({node(k.a)}) - V({node(k.b)}))",
                f"Rk{n} q{n} k{n} 1",
                f"Ck{n} k{n} 0 {LAG_S[k.speed]} IC=0",
                f".model no{n} SW(vt={middle} vh={half} ron={CLOSED_OHM} roff=1e12)",
                f".model nc{n} SW(vt={-middle} vh={half} ron={CLOSED_OHM} roff=1e12)",
                f"Rp{n} one seen{n} 1k",
                f"Sp{n} seen{n} 0 k{n} 0 no{n} OFF",
            ]
        for n, c in enumerate(self.contacts):
            if c.closed_at_rest:
                lines.append(f"Sc{n} {node(c.a)} {node(c.b)} 0 k{c.relay} nc{c.relay} ON")
            else:
                lines.append(f"Sc{n} {node(c.a)} {node(c.b)} k{c.relay} 0 no{c.relay} OFF")
        return lines


def drawn(rng: np.random.Generator) -> Relays:
    """Three relays, one of each class, in a random network; the thresholds of one of them close
    to volts that its coil really sees."""

    def pair() -> tuple[str, str]:
        a, b = rng.choice(len(NODES), size=2, replace=False)
        return NODES[a], NODES[b]

    def spread(low: float, high: float) -> float:
        return float(np.exp(rng.uniform(np.log(low), np.log(high))))

    resistances = tuple((*pair(), spread(2.0, 200.0)) for _ in range(6))
    relays = []
    for speed in SPEEDS:
        on_v = float(rng.uniform(3.0, 9.0))
        off_v = on_v * float(rng.uniform(0.3, 0.9))
        relays.append(Relay(speed, *pair(), spread(60.0, 300.0), on_v, off_v))
    contacts = tuple(Contact(n % 3, *pair(), bool(rng.random() < 0.6)) for n in range(5))
    net = Relays(12.0, resistances, tuple(relays), contacts)
    which = int(rng.integers(3))
    ready = net.ready()
    _, point = ready.settle()
    for seen in ready.range_v(point, f"k{which}"):
        if abs(seen) > 2.0:
            on_v = abs(seen) * float(1.0 + 0.003 * rng.choice([-1.0, 1.0]))
            near = replace(relays[which], on_v=on_v, off_v=0.6 * on_v)
            relays[which] = near
            return replace(net, relays=tuple(relays))
    return net


def compare(nets: list[Relays], folder: Path) -> tuple[int, int]:
    """Hold each of ``nets`` against ngspice; how many settled and how many chattered.

    What does not go round must end where it does over there. What goes round by itself must go on
    changing there; where a slower relay may follow, averages decide, which nobody here claims to
    know.
    """
    readies = [net.ready() for net in nets]
    points = [ready.settle()[1] for ready in readies]
    going = [
        [n for n in range(len(net.relays)) if f"k{n}" in ready.flips(point)]
        for net, ready, point in zip(nets, readies, points, strict=True)
    ]
    ends_s = [SLOW_END_S if flips == [SPEEDS.index(Speed.LOCK)] else END_S for flips in going]
    runs = transients([net.deck() for net in nets], ends_s, folder)
    settled = chattered = 0
    for ready, point, flips, run in zip(readies, points, going, runs, strict=True):
        assert run is not None, "ngspice does not get through"
        assert bool(point.chatter[0]) == bool(flips)
        positions = [np.array(run[f"seen{n}"]) < 0.5 for n in range(len(SPEEDS))]
        for n, position in enumerate(positions):
            assert n in flips or bool(position[-1]) == ready.flag(point, f"k{n}")
        settled += not flips
        chattered += bool(flips)
        if len(flips) == 1:
            late = positions[flips[0]][np.array(run["time"]) > run["time"][-1] / 2.0]
            assert (late[1:] != late[:-1]).sum() >= 3
    return settled, chattered


@pytest.mark.slow_oracle
def test_relays_end_where_ngspice_says_or_go_on_changing_as_there(tmp_path: Path) -> None:
    rng = np.random.default_rng(50)
    settled, chattered = compare([drawn(rng) for _ in range(10)], tmp_path)
    assert settled >= 6
    assert chattered >= 1


@pytest.mark.slow_oracle
def test_many_relays_end_where_ngspice_says(tmp_path: Path) -> None:
    rng = np.random.default_rng(51)
    compare([drawn(rng) for _ in range(400)], tmp_path)
