"""A seeded generator of large jobs: every length different, at least 40 topologies, a tenth of the
doors as found on site with deviations, one to sixteen doors a supply."""

from __future__ import annotations

import random

LOCKS = (
    ("strike 24 V fail-secure", "lever"),
    ("strike 24 V fail-secure, diode", "lever"),
    ("strike 24 V fail-secure, monitored", "panic bar"),
    ("strike 24 V fail-secure, staged coil", "lever"),
    ("magnet 24 V", "nothing mechanical"),
    ("magnet 24 V, bond sensor", "nothing mechanical"),
    ("bolt 24 V fail-safe", "nothing mechanical"),
    ("motor lock 24 V", "lever"),
)
UNITS = (
    ("controller", None),
    ("controller, reader outside", "reader"),
    ("controller, reader outside, tamper loop", "reader, tamper"),
    ("controller, level exit", None),
    ("controller, relay energised when idle", None),
)
EXITS = ("exit button", "exit sensor", None)
SIZES = (1, 2, 3, 4, 6, 8, 12, 16)
COLOURS = ("brown", "blue")


Recipe = tuple[str, str, str, str | None, str | None, bool, bool]
RECIPES = 56
"""How many kinds of doors a job holds; deviations add more topologies."""


def _recipes(rng: random.Random) -> list[Recipe]:
    """Kinds of doors, all different: lock, way out, unit, reader, exit, far, contact."""
    found: dict[Recipe, None] = {}
    while len(found) < RECIPES:
        lock, out = rng.choice(LOCKS)
        unit, reader = rng.choice(UNITS)
        exit_device = rng.choice(EXITS)
        if out == "nothing mechanical" and exit_device is None:
            exit_device = EXITS[0]
        far, contact = rng.random() < 0.4, rng.random() < 0.3
        found[lock, out, unit, reader, exit_device, far, contact] = None
    return list(found)


def _door(number: int, supply: str, output: int, recipe: Recipe, rng: random.Random) -> list[str]:
    lock, out, unit, reader, exit_device, far, contact = recipe
    magnet = out == "nothing mechanical"
    run = 8.0 + number * 0.01 + rng.random() * 20.0
    area = "2.5" if far or magnet else "1.5"
    power = f"{run:.2f} m of 2 x {area} mm²"
    runs = {} if far else {"power": power}
    if far:
        runs["lock"] = power
    short = f"{1.0 + rng.random() * 4.0:.2f}"
    lines = [
        f"  D{number}:",
        f"    name: Door {number}",
        f"    supply: {supply} out {output}",
        f"    lock: {lock}",
        f"    out by: {out}",
        f"    controller: {unit}",
        f"    controller at: {'supply' if far else 'door'}",
        f"    power lost: {'unlocks' if magnet else 'stays locked'}",
    ]
    if reader:
        lines.append(f"    reader: {reader}")
        runs["reader"] = f"{short} m of 6 x 0.22 mm²"
    if exit_device:
        lines.append(f"    exit: {exit_device}")
        runs["exit"] = f"{short} m of 4 x 0.22 mm²"
    if magnet:
        lines += ["    release: release, double pole", "    fire: fire relay"]
        lines.append("    fire alarm: unlocks")
        runs["release"] = f"{1.0 + rng.random():.2f} m of 4 x 1.5 mm²"
    if contact:
        lines.append("    contact: door contact")
    lines.append(f"    runs: {{{', '.join(f'{leg}: {text}' for leg, text in runs.items())}}}")
    if rng.random() < 0.1:
        lines.append("    found:")
        leg = "lock" if far else "power"
        lines.append(
            rng.choice(
                (
                    f"      - {{break: {leg} {rng.choice(COLOURS)}, at: 3 m}}",
                    f"      - {{swapped: [{leg} brown, {leg} blue]}}",
                    "      - {part: controller, state: contact NO welded}",
                    "      - {part: lock, state: missing}",
                )
            )
        )
    return lines


FULL: Recipe = (
    "magnet 24 V, bond sensor",
    "nothing mechanical",
    "controller, reader outside, tamper loop",
    "reader, tamper",
    "exit sensor",
    True,
    True,
)
"""A door with everything on it: networks of more than 45 nodes."""


def job_text(doors: int, seed: int = 1, *, full: bool = False) -> str:
    """A job file of ``doors`` doors, the same for the same seed; ``full``: each has everything."""
    rng = random.Random(seed)
    recipes = [FULL] * RECIPES if full else _recipes(rng)
    supplies: list[str] = []
    lines: list[str] = []
    number = 0
    while number < doors:
        size = min(SIZES[len(supplies) % len(SIZES)], doors - number)
        name = f"S{len(supplies) + 1}"
        outputs = ", ".join(f"{n}: {{fuse: 2.0 A}}" for n in range(1, size + 1))
        supplies.append(
            f"  {name}: {{part: supply 24 V, limit: {4.0 + 2.0 * size:.1f} A, "
            f"battery: 2 x 12 V 17 Ah, outputs: {{{outputs}}}}}"
        )
        for output in range(1, size + 1):
            number += 1
            lines += _door(number, name, output, recipes[number % RECIPES], rng)
            if full:
                lines.append("    bell: bell")
    head = ["latchwork: 1", "site: {name: Generated site}", "supplies:"]
    return "\n".join([*head, *supplies, "doors:", *lines, ""])
