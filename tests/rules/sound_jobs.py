"""Jobs that are sound by construction: every size worked out by hand formulas, none by the solver.

    V = Vs - I * (2 * L * r + Rf)           at the far end of a power run
    V = V * R / (R + 2 * L * r + n * Rc)    at a lock behind n contacts

with the source at its least, conductors hot and at their limit, every load at its most, and a
little to spare. A plot is one supply with its doors; many plots stand in one file, so that they
are run side by side. All data is invented.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random

Door = dict[str, str]

COLD_C, HOT_C = -5, 40
RULE_SETS = ("general", "US model codes", "UK and Europe")

OHM_KM = {0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98}
"""IEC 60228 table 3, class 5, plain, at 20 °C."""
HOT = 1.0 + 0.00393 * (HOT_C - 20.0)
"""Copper, IEC 60028, from memory."""
CONTACT_OHM = 0.1
"""A closed contact at its worst (common practice, no source)."""
FUSE_OHM = 0.14
"""A fuse of 1 A at its worst; in proportion to its rating (common practice, no source)."""
SPARE = 1.02
UNIT_W, READER_A = 2.6, 0.09
"""A controller while it acts, and a reader, at their most."""
FUSES_A = (0.5, 1.0, 1.6, 2.0, 3.15, 5.0)
LIMITS_A = (1.0, 2.0, 3.0, 5.0, 10.0)
BLOCKS_AH = (7, 12, 17, 24, 26, 38, 40)
MARGIN = 1.3
KINDS_OF_SUPPLY = ("", "", ", separate charging", ", folds back")


@dataclass(frozen=True)
class Lock:
    """A lock by its part, with what the formulas need of it at 20 °C."""

    part: str
    volts: float
    amps: float
    most_share: float
    need_v: float
    pick_up_a: float = 0.0

    @property
    def least_ohm(self) -> float:
        return self.volts / (self.amps * self.most_share)


STRIKES = {
    12: (
        Lock('"strike 12 V fail-secure, wide range"', 12, 0.22, 1.08, 9.0),
        Lock('"strike 12 to 24 V fail-secure"', 12, 0.3, 1.0, 10.0),
    ),
    24: (
        Lock('"strike 24 V fail-secure, wide range"', 24, 0.11, 1.08, 18.0),
        Lock('"strike 12 to 24 V fail-secure"', 24, 0.15, 1.0, 10.0),
        Lock("strike 24 V fail-secure", 24, 0.125, 1.08, 20.4),
    ),
}
LISTED = {
    12: Lock('{part: "strike 12 V fail-secure, fire-listed", works from: 9 V}', 12, 0.28, 1.08, 9),
    24: Lock('"strike 24 V fail-secure, fire-listed"', 24, 0.14, 1.08, 20.4),
}
FAIL_SAFE = {
    12: Lock('"strike 12 V fail-safe, diode"', 12, 0.2, 1.08, 10.2),
    24: Lock('"strike 24 V fail-safe, diode"', 24, 0.1, 1.08, 20.4),
}
HOLDING = {
    12: (
        Lock("{part: magnet 12 V, holds down to: 8.5 V}", 12, 0.5, 1.05, 8.5),
        # As it comes: half its pull at 71 % of its volts.
        Lock("magnet 12 V", 12, 0.5, 1.05, 8.52),
        Lock('{part: "magnet 12 V, small", holds down to: 8.5 V}', 12, 0.35, 1.05, 8.5),
    ),
    24: (
        Lock("{part: magnet 24 V, holds down to: 18 V}", 24, 0.25, 1.05, 18.0),
        Lock('{part: "magnet 24 V, small", holds down to: 18 V}', 24, 0.175, 1.05, 18.0),
        Lock("bolt 24 V fail-safe", 24, 0.3, 1.1, 20.4),
        Lock('"bolt 24 V fail-safe, staged coil"', 24, 0.15, 1.1, 20.4, 0.5),
    ),
}
RELEASE_FACTS = {
    "release height": "1100 mm",
    "release distance": "0.9 m",
    "sign": "PUSH TO EXIT",
}


@dataclass
class Plot:
    """One supply, its devices and its doors, by the ids they have in the file."""

    number: int
    kind: str
    supply: str = ""
    devices: dict[str, str] = field(default_factory=dict)
    doors: dict[str, Door] = field(default_factory=dict)

    @property
    def supply_id(self) -> str:
        return f"S{self.number}"


class Unfit(Exception):
    """No cable makes this lock work on this supply."""


@dataclass
class Source:
    """The supply of a plot while it is sized."""

    volts: int
    battery: bool
    idle_a: float = 0.0
    busy_a: float = 0.0
    surge_a: float = 0.0

    def least_v(self) -> float:
        """At the end of the battery, or at the low end of a plain supply, under all the load."""
        if not self.battery:
            return 0.98 * self.volts - 0.06 * self.busy_a
        blocks = self.volts // 12
        return blocks * 6 * 1.75 - self.busy_a * (blocks * 0.135 + 0.3)


def _ohm(length_m: float, area: float) -> float:
    """Both cores of a run, hot."""
    return 2.0 * length_m * OHM_KM[area] * 1e-3 * HOT


def _unit_a(volts: float, reader: bool) -> float:
    return UNIT_W / (0.85 * volts) + (READER_A if reader else 0.0)


class Sizing:
    """Chooses lengths and areas for one plot, and adds up what hangs on the supply."""

    def __init__(self, rng: Random, source: Source, everything_a: float) -> None:
        self.rng = rng
        self.source = source
        self.source.busy_a = everything_a

    def run(self, lock: Lock, unit_a: float, contacts: int, fuse_ohm: float) -> tuple[float, float]:
        """Length and area of a power run with the lock at its end."""
        length = self.rng.uniform(2.0, 40.0)
        while True:
            for area in OHM_KM:
                lock_a = lock.amps * lock.most_share + lock.pick_up_a
                ohm = _ohm(length, area) + fuse_ohm
                there = self.source.least_v() - (lock_a + unit_a) * ohm
                behind = there * lock.least_ohm / (lock.least_ohm + contacts * CONTACT_OHM)
                alive = there > 9.8 if unit_a else True
                if behind >= SPARE * lock.need_v and alive:
                    return length, area
            length = _shorter(length)

    def legs(self, lock: Lock, cores: int, contacts: int, fuse_ohm: float) -> tuple[float, float]:
        """Length and area of a lock run from the supply, ``cores`` of that length in series."""
        length = self.rng.uniform(2.0, 30.0)
        while True:
            for area in OHM_KM:
                ohm = 0.5 * cores * _ohm(length, area) + contacts * CONTACT_OHM + fuse_ohm
                there = self.source.least_v()
                if there * lock.least_ohm / (lock.least_ohm + ohm) >= SPARE * lock.need_v:
                    return length, area
            length = _shorter(length)


def _shorter(length: float) -> float:
    if length < 1.0:
        raise Unfit
    return 0.5 * length


def plot(rng: Random, number: int, rule_set: str) -> Plot:
    """One plot of a kind drawn at random."""
    return plot_of(rng, number, rng.choice(list(_KINDS)), rule_set)


def plot_of(rng: Random, number: int, kind: str, rule_set: str) -> Plot:
    """One plot of a kind; drawn again where nothing fits."""
    while True:
        made = Plot(number, kind)
        try:
            _KINDS[kind](rng, made, rule_set)
        except Unfit:
            continue
        return made


def text(plots: list[Plot], rule_set: str, site: str = "") -> str:
    """The file with all the plots; ``site``: what else it says of the site."""
    lines = [
        "latchwork: 1",
        f"site: {{name: Millpond pottery, ambient: {COLD_C} to {HOT_C} °C, standby: 4 h, "
        f"rule set: {rule_set}{site}}}",
        "supplies:",
        *(f"  {p.supply_id}: {p.supply}" for p in plots),
    ]
    devices = {name: use for p in plots for name, use in p.devices.items()}
    if devices:
        lines += ["devices:", *(f"  {name}: {use}" for name, use in devices.items())]
    lines.append("doors:")
    for p in plots:
        for name, door in p.doors.items():
            lines.append(f"  {name}:")
            lines += [f"    {key}: {value}" for key, value in door.items()]
    return "\n".join(lines) + "\n"


def _up(wanted: float, steps: tuple[float, ...]) -> float:
    return next(step for step in steps if step >= wanted)


def _supply(rng: Random, made: Plot, source: Source, outputs: int = 0, fuse_a: float = 0.0) -> None:
    """The supply's line: limit over every load and the charge, battery for the standby."""
    battery, charge = "", 0.0
    if source.battery:
        # Four hours at rest, and as much again for age, cold and rate.
        ah = _up(source.idle_a * 4.0 * 2.0, BLOCKS_AH)
        battery, charge = f", battery: {source.volts // 12} x 12 V {ah} Ah", ah * 0.1
    limit = _up(MARGIN * (max(source.busy_a, source.surge_a) + charge), LIMITS_A)
    fused = ""
    if outputs:
        inner = ", ".join(f"{n}: {{fuse: {fuse_a} A}}" for n in range(1, outputs + 1))
        fused = f", outputs: {{{inner}}}"
    part = rng.choice(KINDS_OF_SUPPLY) if source.battery else ", no battery"
    name = f'"supply {source.volts} V{part}"'
    folds = ", folds back to: 0.5 A" if "folds" in part else ""
    if not fused:
        _carries(made, source.volts, limit)
    made.supply = f"{{part: {name}, limit: {limit} A{folds}{battery}{fused}}}"


CARRY_A = {0.5: 3.0, 0.75: 6.0, 1.0: 10.0, 1.5: 15.0, 2.5: 20.0}
"""Flexible cords, BS 7671 table 4F3A, from memory."""


def _carries(made: Plot, volts: int, limit_a: float) -> None:
    """Cores that carry what the supply gives, unless that is little enough for any core: 5 A up to
    20 V, 100 VA above (NEC chapter 9 table 11(A), class 2, from memory)."""
    if limit_a <= (5.0 if volts <= 20 else 100.0 / volts):
        return
    for door in made.doors.values():
        for area, amps in CARRY_A.items():
            if amps < limit_a:
                enough = next(a for a, most in CARRY_A.items() if most >= limit_a)
                door["runs"] = door["runs"].replace(f"x {area} mm²", f"x {enough} mm²")


def _metres(length: float, area: float, cores: int) -> str:
    return f"{length:.1f} m of {cores} x {area} mm²"


FACES = (
    "controller",
    "controller, card",
    "controller, card and code",
    "controller, level exit",
    "controller, forgets timed unlock",
    "controller, relay energised when idle",
)
READERS = (
    ("controller, reader outside", "reader"),
    ("controller, reader outside", "reader, keypad"),
    ("controller, reader outside, tamper loop", "reader, tamper"),
    ("controller, reader outside, relay energised when idle", "reader 12 V"),
)


def _face(rng: Random, volts: int = 24) -> tuple[Door, bool]:
    """A controller on the secure side, with its face or a reader outside."""
    if rng.random() < 0.5:
        return {"controller": rng.choice(FACES)}, False
    run = f"{rng.uniform(0.5, 8.0):.1f} m of 8 x 0.22 mm²"
    controller, reader = rng.choice([r for r in READERS if volts == 12 or r[1] != "reader 12 V"])
    return {"controller": controller, "reader": reader, "_reader": run}, True


def _extras(rng: Random, door: Door, runs: dict[str, str], volts: int) -> None:
    """Things beside lock and way out that are in order."""
    if rng.random() < 0.2:
        door |= {"bell": f"bell {volts} V", "bell button": "bell button"}
        runs["bell"] = f"{rng.uniform(1.0, 4.0):.1f} m of 4 x 0.5 mm²"
    if rng.random() < 0.2:
        door["radio"] = "radio receiver"
    if rng.random() < 0.2:
        door["key switch"] = "key switch, outdoor"
    if rng.random() < 0.3:
        door["outside"] = rng.choice(("outside", "weather"))
    if rng.random() < 0.2:
        door["latch contact"] = "latch contact"
    if rng.random() < 0.2:
        door["second exit"] = "button"
        door.setdefault("exit", "button")


def _finish(rng: Random, door: Door, runs: dict[str, str]) -> Door:
    """The door with its runs, and harmless facts that are in order."""
    reader = door.pop("_reader", "")
    if reader:
        runs["reader"] = reader
    watches = door.get("controller") in ("controller", "controller, level exit")
    if not watches:
        door.pop("latch contact", None)
    if rng.random() < 0.3 and watches:
        door |= {"contact": "door contact", "held or forced told": "yes"}
        runs["contact"] = f"{rng.uniform(1.0, 10.0):.1f} m of 4 x 0.22 mm²"
    if rng.random() < 0.3 and door.get("controller") == "controller":
        door |= {"users": "400", "installer code changed": "yes"}
    if rng.random() < 0.2:
        door |= {"closer": "yes", "closer speed": "6 s", "closing force": "20 N"}
    door["runs"] = "{" + ", ".join(f"{leg}: {run}" for leg, run in runs.items()) + "}"
    return door


def _strikes(rng: Random, made: Plot, rule_set: str) -> None:
    """Up to four fail-secure strikes beside levers, each on an output of its own."""
    del rule_set
    volts, count = rng.choice((12, 24)), rng.randint(1, 4)
    source = Source(volts, battery=rng.random() < 0.7)
    faces = [_face(rng, volts) for _ in range(count)]
    locks = [rng.choice(STRIKES[volts]) for _ in range(count)]
    unit_a = [_unit_a(volts, reader) for _, reader in faces]
    source.idle_a = sum(unit_a)
    fuse_a = _up(1.5 * max(k.amps * 1.3 + u for k, u in zip(locks, unit_a, strict=True)), FUSES_A)
    sizing = Sizing(rng, source, sum(unit_a) + sum(k.amps * k.most_share * 1.2 for k in locks))
    for n, ((face, _), lock, amps) in enumerate(zip(faces, locks, unit_a, strict=True), 1):
        length, area = sizing.run(lock, amps, 2, FUSE_OHM / fuse_a)
        door: Door = {
            "supply": f"{made.supply_id} out {n}",
            "power lost": "stays locked",
            "fire alarm": "stays locked",
            "out by": rng.choice(("lever", "panic bar")),
            "lock": lock.part,
            **face,
        }
        if "12 to 24" not in lock.part:
            door["diode"] = "diode"
        runs = {"power": _metres(length, area, 2)}
        _extras(rng, door, runs, volts)
        if rng.random() < 0.4:
            door["exit"] = "button"
            runs["exit"] = f"{rng.uniform(1.0, 20.0):.1f} m of 4 x 0.22 mm²"
        made.doors[f"D{made.number}x{n}"] = _finish(rng, door, runs)
    _supply(rng, made, source, count, fuse_a)


def _rated(rng: Random, made: Plot, rule_set: str) -> None:
    """A fire-rated door: a listed fail-secure strike, whose power goes in a fire, and a lever."""
    del rule_set
    volts = rng.choice((12, 24))
    source = Source(volts, battery=volts == 12)
    face, reader = _face(rng)
    unit_a, lock = _unit_a(volts, reader), LISTED[volts]
    source.idle_a = unit_a
    sizing = Sizing(rng, source, unit_a + lock.amps * 1.3)
    length, area = sizing.run(lock, unit_a, 4, 0.0)
    door: Door = {
        "supply": made.supply_id,
        "power lost": "stays locked",
        "fire alarm": rng.choice(("stays locked", "unlocks")),
        "fire rating": rng.choice(("30 min", "1 h")),
        "fire": "fire relay",
        "out by": "lever",
        "lock": lock.part,
        "diode": "diode",
        **face,
    }
    made.doors[f"D{made.number}"] = _finish(rng, door, {"power": _metres(length, area, 3)})
    _supply(rng, made, source)


def _fail_safe(rng: Random, made: Plot, rule_set: str) -> None:
    """A fail-safe strike beside a lever, opened by the fire relay and by a power cut."""
    del rule_set
    volts = rng.choice((12, 24))
    source = Source(volts, battery=False)
    face, reader = _face(rng)
    unit_a, lock = _unit_a(volts, reader), FAIL_SAFE[volts]
    sizing = Sizing(rng, source, unit_a + lock.amps * 1.3)
    length, area = sizing.run(lock, unit_a, 4, 0.0)
    door: Door = {
        "supply": made.supply_id,
        "power lost": "unlocks",
        "fire alarm": "unlocks",
        "fire": "fire relay",
        "out by": "lever",
        "lock": lock.part,
        **face,
    }
    made.doors[f"D{made.number}"] = _finish(rng, door, {"power": _metres(length, area, 3)})
    _supply(rng, made, source)


def _holding_door(rng: Random, made: Plot, lock: Lock, rule_set: str) -> Door:
    exits = ["button"]
    if rule_set == "US model codes":
        exits.append("exit sensor, energised when idle")
    elif lock.volts == 24:
        exits.append("exit sensor")
    door: Door = {
        "supply": made.supply_id,
        "power lost": "unlocks",
        "fire alarm": "unlocks",
        "fire": "fire relay",
        "out by": "nothing mechanical",
        "lock": lock.part,
        "exit": rng.choice(exits),
        "release": "release, double pole",
    }
    if lock.part == "bolt 24 V fail-safe":
        door["diode"] = "diode"
    if rule_set == "US model codes":
        door |= RELEASE_FACTS
    return door


def _holding(rng: Random, made: Plot, rule_set: str) -> None:
    """Magnets and bolts that hold by current, with the controller at the door."""
    volts, count = rng.choice((12, 24)), rng.randint(1, 3)
    source = Source(volts, battery=rng.random() < 0.7)
    faces = [_face(rng) for _ in range(count)]
    choices = [k for k in HOLDING[volts] if not source.battery or k.need_v < 0.8 * volts]
    locks = [rng.choice(choices) for _ in range(count)]
    # A sensor takes up to 0.07 A beside controller and reader.
    unit_a = [_unit_a(volts, reader) + 0.07 for _, reader in faces]
    held = [k.amps * k.most_share * 1.2 for k in locks]
    source.idle_a = sum(unit_a) + sum(held)
    source.surge_a = source.idle_a + sum(k.pick_up_a * 1.3 for k in locks)
    sizing = Sizing(rng, source, source.surge_a)
    for n, ((face, _), lock, amps) in enumerate(zip(faces, locks, unit_a, strict=True), 1):
        length, area = sizing.run(lock, amps, 6, 0.0)
        door = {**_holding_door(rng, made, lock, rule_set), **face}
        runs = {"power": _metres(length, area, 3)}
        made.doors[f"D{made.number}x{n}"] = _finish(rng, door, runs)
    _supply(rng, made, source)


def _at_supply(rng: Random, made: Plot, rule_set: str) -> None:
    """A magnet whose controller stands by the supply; lock and release on cables of their own."""
    source = Source(24, battery=rng.random() < 0.7)
    unit_a = _unit_a(24, reader=True)
    lock = rng.choice(HOLDING[24][:2])
    source.idle_a = unit_a + lock.amps * 1.3
    sizing = Sizing(rng, source, source.idle_a + 0.1)
    # Out and back for both poles of the release, and the lock's own two.
    length, area = sizing.legs(lock, 6, 6, 0.0)
    door = _holding_door(rng, made, lock, rule_set)
    door |= {
        "exit": "button",
        "controller at": "supply",
        "controller": "controller, reader outside",
        "reader": "reader",
    }
    runs = {
        "lock": _metres(length, area, 2),
        "release": _metres(length, area, 4),
        "exit": f"{length:.1f} m of 4 x 0.22 mm²",
        "reader": f"{length:.1f} m of 6 x 0.22 mm²",
    }
    made.doors[f"D{made.number}"] = _finish(rng, door, runs)
    _supply(rng, made, source)


def _two_locks(rng: Random, made: Plot, rule_set: str) -> None:
    """A magnet and a fail-safe strike, and a panic bar whose switch breaks both poles."""
    source = Source(24, battery=False)
    face, reader = _face(rng)
    unit_a = _unit_a(24, reader) + 0.07
    lock = Lock("", 24, 0.25 + 0.1, 1.08, 20.4)
    sizing = Sizing(rng, source, unit_a + lock.amps * 1.3)
    length, area = sizing.run(lock, unit_a, 8, 0.0)
    door = {**_holding_door(rng, made, HOLDING[24][0], rule_set), **face}
    door |= {
        "second lock": FAIL_SAFE[24].part,
        "out by": "panic bar",
        "bar": "panic bar with two-pole switch",
        "exit": "button",
    }
    made.doors[f"D{made.number}"] = _finish(rng, door, {"power": _metres(length, area, 3)})
    _supply(rng, made, source)


def _transformer(rng: Random, made: Plot, rule_set: str) -> None:
    """A buzzing strike on a transformer, worked by a button, beside a lever."""
    del rule_set
    made.supply = "transformer 12 V AC"
    door: Door = {
        "supply": made.supply_id,
        "power lost": "stays locked",
        "out by": "lever",
        "lock": "strike 12 V AC fail-secure",
        "exit": "button",
        "runs": f"{{exit: {rng.uniform(2.0, 8.0):.1f} m of 2 x 1.0 mm²}}",
    }
    made.doors[f"D{made.number}"] = door


def _two_ways(rng: Random, made: Plot, rule_set: str) -> None:
    """Two strikes beside levers on one two-door controller."""
    del rule_set
    source = Source(24, battery=rng.random() < 0.5)
    lock = STRIKES[24][0]
    unit_a = 3.6 / 20.0 + 2 * READER_A
    source.idle_a = unit_a
    sizing = Sizing(rng, source, unit_a + 2 * lock.amps * 1.3)
    controller = f"C{made.number}"
    made.devices[controller] = '"controller, two doors"'
    for way in (1, 2):
        length, area = sizing.legs(lock, 2, 2, 0.0)
        made.doors[f"D{made.number}x{way}"] = {
            "supply": made.supply_id,
            "power lost": "stays locked",
            "fire alarm": "stays locked",
            "out by": "lever",
            "lock": lock.part,
            "diode": "diode",
            "controller": f"{controller} way {way}",
            "controller at": "supply",
            "reader": "reader",
            "runs": f"{{lock: {_metres(length, area, 2)}, "
            f"reader: {min(length, 30.0):.1f} m of 6 x 0.22 mm²}}",
        }
    _supply(rng, made, source)


def _shared_fire(rng: Random, made: Plot, rule_set: str) -> None:
    """Magnets whose feed comes through one fire relay beside the supply."""
    source = Source(24, battery=rng.random() < 0.6)
    count = rng.randint(2, 3)
    lock = HOLDING[24][1]
    unit_a = _unit_a(24, reader=False)
    source.idle_a = count * (unit_a + lock.amps * 1.3)
    sizing = Sizing(rng, source, source.idle_a + 0.1)
    made.devices[f"F{made.number}"] = "fire relay"
    for n in range(1, count + 1):
        length, area = sizing.run(lock, unit_a, 6, count * CONTACT_OHM)
        door = _holding_door(rng, made, lock, rule_set)
        door |= {"exit": "button", "controller": "controller", "fire": f"F{made.number}"}
        runs = {"power": _metres(length, area, 3)}
        made.doors[f"D{made.number}x{n}"] = _finish(rng, door, runs)
    _supply(rng, made, source)


def _port(rng: Random, made: Plot, rule_set: str) -> None:
    """A controller fed by its network port, and its motor lock or strike beside a lever."""
    del rule_set
    made.supply = '"network port, class 3"'
    made.doors[f"D{made.number}"] = {
        "supply": made.supply_id,
        "power lost": "stays locked",
        "fire alarm": "stays locked",
        "out by": "lever",
        "lock": f'{{part: "strike 24 V fail-secure, wide range", supply: {made.supply_id}b}}',
        "diode": "diode",
        "controller": "controller, network-fed",
        "reader": "reader",
        "runs": f"{{power: {rng.uniform(5.0, 80.0):.0f} m of category cable, "
        f"lock: {rng.uniform(2.0, 20.0):.0f} m of 2 x 1.0 mm²}}",
    }
    made.supply += f'\n  {made.supply_id}b: "supply 24 V, no battery"'


def _cabinet(rng: Random, made: Plot, rule_set: str) -> None:
    """A cabinet: a small magnet, and nobody inside."""
    del rule_set
    source = Source(12, battery=False)
    lock = Lock('"magnet 12 V, cabinet"', 12, 0.12, 1.05, 10.2)
    unit_a = _unit_a(12, reader=False)
    sizing = Sizing(rng, source, unit_a + lock.amps * 1.3)
    length, area = sizing.run(lock, unit_a, 2, 0.0)
    door: Door = {
        "supply": made.supply_id,
        "power lost": "unlocks",
        "out by": "nothing mechanical",
        "escape direction": "none",
        "lock": lock.part,
        "controller": "controller",
    }
    made.doors[f"D{made.number}"] = _finish(rng, door, {"power": _metres(length, area, 2)})
    _supply(rng, made, source)


def _timed(rng: Random, made: Plot, rule_set: str) -> None:
    """A supply with a door timer, started by a button inside; people come in with a key."""
    del rule_set
    made.supply = "{part: timed supply 12 V, limit: 3 A, battery: 1 x 12 V 7 Ah}"
    made.doors[f"D{made.number}"] = {
        "supply": made.supply_id,
        "power lost": "stays locked",
        "out by": "lever",
        "lock": '"strike 12 V fail-secure, wide range"',
        "diode": "diode",
        "exit": "button",
        "runs": f"{{lock: {rng.uniform(2.0, 15.0):.0f} m of 2 x 1.5 mm²}}",
    }


def _motor(rng: Random, made: Plot, rule_set: str) -> None:
    """A motor lock beside a lever, on a plain supply."""
    del rule_set
    made.supply = '{part: "supply 24 V, no battery", limit: 2 A}'
    made.doors[f"D{made.number}"] = {
        "supply": made.supply_id,
        "power lost": "stays locked",
        "fire alarm": "stays locked",
        "out by": "lever",
        "lock": "motor lock 24 V",
        "controller": "controller",
        "runs": f"{{power: {rng.uniform(2.0, 20.0):.0f} m of 3 x 1.5 mm²}}",
    }


_KINDS = {
    "strikes": _strikes,
    "fire-rated": _rated,
    "fail-safe strike": _fail_safe,
    "holding": _holding,
    "controller at the supply": _at_supply,
    "two locks": _two_locks,
    "transformer": _transformer,
    "two ways": _two_ways,
    "shared fire relay": _shared_fire,
    "network port": _port,
    "cabinet": _cabinet,
    "timed supply": _timed,
    "motor": _motor,
}
