"""Invented doors of many kinds for drawings: seeded, so that a failure can be drawn again."""

from __future__ import annotations

import random
from functools import cache
from importlib import resources

import pytest

from latchwork.drawing.index import Index, index
from latchwork.job import read_job_text
from latchwork.parts import catalogue
from latchwork.plan import plan
from latchwork.wiring import wire

CABLES = (
    "2 x 1.0 mm²",
    "3 x 1.5 mm²",
    "4 x 0.22 mm²",
    "6 x 0.22 mm²",
    "12 x 0.22 mm²",
    "category cable",
    "4 x 18 AWG",
    "5 x 0.5 mm²",
)
LOCKS = (
    "strike 24 V fail-secure",
    "strike 24 V fail-safe, monitored",
    "strike 24 V fail-secure, diode",
    "magnet 24 V",
    "magnet 24 V, bond sensor",
    "bolt 24 V fail-safe, staged coil",
    "motor lock 24 V",
)
CONTROLLERS = (
    "controller",
    "controller, reader outside",
    "controller, reader outside, tamper loop",
    "controller, relay energised when idle",
    "controller, exit acts on open",
    "keypad, outdoor",
)
SITE = """\
latchwork: 1
site: {name: Invented yard}
supplies:
  S1: {part: supply 24 V, battery: 2 x 12 V 7 Ah,
       outputs: {1: {fuse: 1.0 A}, 2: {fuse: 1.0 A}, 3: {fuse: 1.6 A}}}
  S2: {part: timed supply 24 V, battery: 2 x 12 V 7 Ah}
devices: {F1: fire relay, C1: "controller, two doors"}
cables: {trunk: 46 m of 4 x 2.5 mm²}
taps:
  K1: {on: trunk, at: 12 m, place: terminal box}
  K2: {on: trunk, at: 30 m}
wiring:
  - [S1.3, trunk brown, open]
  - [S1.-, trunk blue, open]
doors:
"""
SEEDS = [
    pytest.param(n, id=f"seed {n}", marks=pytest.mark.slow_oracle if n >= 5 else ())
    for n in range(20)
]
"""Sites of twelve doors each: 240 generated doors, 60 where it is to be quick."""
LEGS = ("power", "lock", "exit", "release", "fire", "contact", "reader", "bell", "tamper")


@cache
def index_of(text: str) -> Index:
    """A job's text, read, planned, wired and looked up."""
    return index(wire(plan(read_job_text(text, "job.yaml"), catalogue())))


@cache
def demo(job: str) -> Index:
    """The demo's "draft" or "mended" job."""
    file = resources.files("latchwork.demo") / "data" / job / "job.yaml"
    return index_of(file.read_text(encoding="utf-8"))


def site_of(seed: int, doors: int = 12) -> Index:
    """A site with doors of many kinds."""
    rng = random.Random(seed)
    return index_of(SITE + "".join(_door(rng, f"D{n + 1}") for n in range(doors)))


def _door(rng: random.Random, name: str) -> str:
    slots: dict[str, str] = {"lock": rng.choice(LOCKS)}
    kind = rng.choice(("controller", "controller", "controller", "C1 way 1", "C1 way 2", "none"))
    slots["controller"] = rng.choice(CONTROLLERS) if kind == "controller" else kind
    for slot, part, share in (
        ("reader", "reader", 0.6),
        ("exit", "exit button", 0.6),
        ("second exit", "exit sensor", 0.2),
        ("release", "release, double pole", 0.3),
        ("fire", "F1", 0.3),
        ("bar", "panic bar with switch", 0.2),
        ("contact", "door contact", 0.4),
        ("latch contact", "latch contact", 0.2),
        ("bell", "bell 24 V", 0.2),
        ("bell button", "bell button", 0.2),
        ("radio", "radio receiver", 0.2),
        ("timer", "delay module 24 V", 0.1),
        ("relay", "relay 24 V", 0.1),
        ("diode", "diode", 0.3),
        ("second lock", "strike 24 V fail-secure", 0.15),
    ):
        if rng.random() < share:
            slots[slot] = part
    runs = {leg: f"{rng.randint(2, 60)} m of {rng.choice(CABLES)}" for leg in LEGS}
    runs = {leg: run for leg, run in runs.items() if rng.random() < 0.55}
    lines = [f"  {name}:", f"    supply: {rng.choice(('S1 out 1', 'S1 out 2', 'S2'))}"]
    lines += [f'    {slot}: "{part}"' for slot, part in slots.items()]
    at = rng.choice(("door", "door", "supply", "plant room"))
    lines.append(f"    controller at: {at}")
    lines.append(f"    runs: {{{', '.join(f'{leg}: {run}' for leg, run in runs.items())}}}")
    if slots["controller"] in CONTROLLERS and rng.random() < 0.25:
        lines += ["    wiring:", "      power:"]
        tap = rng.choice(("K1", "K2"))
        lines += [f"        - [{tap}.brown, lead, controller.+]"]
        lines += [f"        - [{tap}.blue, lead, controller.-]"]
    lines += _found(rng, slots, runs)
    return "\n".join(lines) + "\n"


def _found(rng: random.Random, slots: dict[str, str], runs: dict[str, str]) -> list[str]:
    """Some deviations at places along cables, that need no knowledge of the wiring."""
    found = []
    for leg, run in runs.items():
        if rng.random() > 0.2:
            continue
        cores = _cores(run)
        at = f"at: {rng.randint(1, int(run.split()[0]))} m"
        match rng.choice(("break", "short", "leak")):
            case "break":
                found.append(f"      - {{break: {leg} {cores[0]}, {at}}}")
            case kind:
                ohm = ", resistance: 4.7 kohm" if kind == "leak" else ""
                found.append(
                    f"      - {{{kind}: [{leg} {cores[0]}, {leg} {cores[-1]}], {at}{ohm}}}"
                )
    if rng.random() < 0.2:
        found.append("      - {part: lock, state: missing}")
    return ["    found:", *found] if found else []


def _cores(run: str) -> list[str]:
    from latchwork.parts import cable_type

    return [core.name for core in cable_type(run.partition(" of ")[2]).cores]
