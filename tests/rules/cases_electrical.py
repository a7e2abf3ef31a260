"""Mistakes of volts, amperes, coils, cables and joining; each beside a job just short of it.

Limits are worked out by hand beside the cases: V = V·R / (R + 2·L·r) and plain sums.
"""

from __future__ import annotations

from latchwork.findings import Severity
from tests.rules.jobs import MAGNET, STRIKE, SUPPLY, Case, Door, but, job

FAILS, WEAK, NOTE = Severity.FAILS, Severity.WEAK, Severity.NOTE
PLAIN = but(STRIKE, {"lock": "strike 24 V fail-secure"})
"""Its coil: 192 ohm at 20 °C, from 0.92 to 1.08 of that; picks up at 20.4 V (85 %)."""
LOCK_RUN = "{power: 10 m of 2 x 1.0 mm², lock: 2 m of 2 x 1.0 mm²}"
FIRE_RUN = "{power: 10 m of 2 x 1.0 mm², fire: 10 m of 2 x 1.0 mm²}"
RELAYED: Door = {
    "relay": "relay 24 V, diode",
    "runs": LOCK_RUN,
    "found": "[{leak: [lock brown, lock blue], resistance: 500 ohm}]",
}
BUTTON: Door = {
    "supply": "S1",
    "power lost": "stays locked",
    "out by": "lever",
    "lock": "strike 12 V AC fail-secure",
    "exit": "button",
    "runs": "{exit: 5 m of 2 x 1.0 mm²}",
}
"""A buzzing strike on a transformer, worked by a button inside."""
TRANSFORMER = "S1: transformer 12 V AC"
HELD_AC = "{part: strike 12 V AC fail-secure, energised: locks, duty: continuous}"
TWO = f"S1: {SUPPLY}\nS2: {SUPPLY}"
READER = but(STRIKE, {"controller": "controller, reader outside", "reader": "reader"})


FAR_READER = but(READER, {"runs": "{power: 10 m of 2 x 1.0 mm², reader: 5 m of 6 x 0.22 mm²}"})


def _lines(first: str, second: str) -> str:
    """The reader's rows, its D0 on one of the controller's inputs and D1 on the other."""
    return (
        "{reader: [[controller.R+, reader white, reader.+], "
        "[controller.R-, reader brown, reader.-], "
        f"[controller.{first}, reader green, reader.D0], "
        f"[controller.{second}, reader yellow, reader.D1]]}}"
    )


def _whole(changes: Door) -> str:
    rows = (
        "[S1.+, power brown, controller.+], [S1.-, power blue, controller.-], "
        "[controller.+, lead, controller.COM], [controller.NO, lead, lock.+], "
        "[controller.-, lead, lock.-], [lock.-, lead, diode.A], [lock.+, lead, diode.K]"
    )
    return job(but(STRIKE, {**changes, "wiring": f"[{rows}]"}))


def _contact_on(rows: str) -> str:
    runs = (
        "{power: 8 m of 3 x 1.0 mm², lock: 4 m of 2 x 1.0 mm², reader: 2 m of 6 x 0.22 mm², "
        "release: 4 m of 4 x 1.0 mm², contact: 4 m of 4 x 0.22 mm²}"
    )
    its = {"contact": '"door contact, changeover"', "wiring": f"{{contact: [{rows}]}}"}
    return job(but(MAGNET, {**its, "runs": runs}))


def _staged(run: str) -> str:
    runs = f"{{power: {run} of 2 x 0.5 mm², fire: 3 m of 2 x 1.0 mm², lock: 1 m of 2 x 1.0 mm²}}"
    its = {"lock": "bolt 24 V fail-safe, staged coil", "runs": runs, "reader": "-"}
    fused = "{part: supply 24 V, limit: 3 A, battery: 2 x 12 V 7 Ah, outputs: {1: {fuse: 2 A}}}"
    return job(but(MAGNET, {**its, "controller": "controller"}), supplies=f"S1: {fused}")


def _bolt(run: str) -> str:
    runs = f"{{power: {run} of 3 x 0.75 mm², lock: 2 m of 2 x 1.0 mm²}}"
    its = {"lock": "{part: bolt 24 V fail-safe, picks up at: 20 V}", "diode": "diode", "runs": runs}
    return job(but(MAGNET, {**its, "reader": "-", "controller": "controller"}))


def _plain(length: str, **more: str) -> str:
    """The plain strike with its power run of that length of 0.5 mm²."""
    return job(but(PLAIN, {"runs": f"{{power: {length} of 2 x 0.5 mm²}}", **more}))


WIDE = "'strike 24 V fail-secure, wide range'"


def _short(duty_s: str, controller: str = "controller") -> str:
    lock = f'{{part: "strike 24 V fail-secure, short duty", energised at most: {duty_s}}}'
    return job(but(STRIKE, {"lock": lock, "controller": controller}))


def _port(controller: str, port: str, **site: str) -> str:
    door = but(
        STRIKE,
        {"lock": '{part: "strike 12 V fail-secure, wide range", supply: S2}',
         "controller": controller, "reader": "reader",
         "runs": "{power: 30 m of category cable}"},
    )  # fmt: skip
    return job(door, supplies=f"S1: {port}\nS2: supply 12 V",
               site=site.get("site", ""))  # fmt: skip


def _from_the_reader(port: str) -> str:
    rows = (
        "[controller.R+, lead, release.COM1], [release.NC1, lead, controller.COM], "
        "[controller.NC, lock brown, lock.+], [lock.-, lock blue, release.NC2], "
        "[release.COM2, lead, controller.R-]"
    )
    lines = {
        "lock": "{part: magnet 12 V, holds down to: 8.5 V}",
        "controller": NETWORKED,
        "fire": "-",
        "fire alarm": "-",
        "runs": "{power: 30 m of category cable, lock: 3 m of 2 x 0.5 mm²}",
        "wiring": f"{{lock: [{rows}]}}",
    }
    return job(but(MAGNET, lines), supplies=f"S1: {port}")


def _far_port(length: str) -> str:
    return _port(NETWORKED, PORT_4).replace("30 m of category", f"{length} of category")


HUNGRY = but(
    STRIKE,
    {"lock": "strike 12 V fail-secure, short duty", "controller": "controller 12 V"},
)
TWELVE = "S1: {part: supply 12 V, battery: 1 x 12 V 7 Ah}"


def _on_battery(power: str) -> Door:
    """A magnet that holds down to 8 V, and whose exit button asks a controller beside it."""
    return but(
        MAGNET,
        {
            "lock": "{part: magnet 12 V, holds down to: 8 V, works from: 8 V}",
            "controller": "controller",
            "reader": "-",
            "runs": f"{{power: {power}}}",
        },
    )


BUILT_IN = but(STRIKE, {"lock": "strike 24 V fail-secure, diode", "diode": "-", "runs": LOCK_RUN})
NO_DIODE = but(STRIKE, {"diode": "-", "runs": LOCK_RUN})
SWAPPED = "[{swapped: [lock brown, lock blue]}]"
STAGED = "{part: 'bolt 24 V fail-safe, staged coil', picks up at: 18 V}"
BOLT = but(MAGNET, {"lock": STAGED, "second lock": "-"})
STRONG = but(STRIKE, {"lock": '{part: "strike 24 V fail-secure, wide range", current: 0.8 A}'})
NETWORKED = "controller, network-fed"
PORT_4 = '"network port, class 4"'
PORT_1, PORT_2 = ('"network port, class 1"', '"network port, class 2"')
APART = (
    "{reader: [[S2.+, lead, reader.+], [S2.-, lead, reader.-], "
    "[controller.D0, lead, reader.D0], [controller.D1, lead, reader.D1]]}"
)
"""A reader fed from a supply of its own."""


RUNG = {"bell": "bell 12 V", "bell button": "bell button"}


def _rated(rating: str, changes: Door | None = None) -> str:
    supply = f"S1: {{part: transformer 12 V AC, rating: {rating}}}"
    return job(but(BUTTON, changes or {}), supplies=supply)


def _limit(limit: str) -> str:
    return f"S1: {{part: supply 24 V, limit: {limit}}}"


def _fuse(rating: str) -> str:
    return (
        f"S1: {{part: supply 24 V, limit: 3 A, battery: 2 x 12 V 7 Ah, "
        f"outputs: {{1: {{fuse: {rating}}}, 2: {{fuse: 1 A}}}}}}"
    )


def _jointed(ohm: str) -> Door:
    """A magnet whose plus goes through a joint."""
    return but(
        MAGNET,
        {
            "joints": f"{{J1: {{resistance: {ohm}}}}}",
            "wiring": "{lock: [[release.NC1, lead, controller.COM], "
            "[controller.NC, lock brown, J1], [J1, lead, lock.+], "
            "[release.NC2, lock blue, lock.-]]}",
        },
    )


def _measured(ohm: str, also: str = "") -> str:
    its = f"cable: 2 x 0.22 mm², length: 22 m, {also}loop resistance: measured {ohm}"
    return f"{{power: {{{its}}}}}"


def _reader(run: str) -> Door:
    return but(READER, {"runs": f"{{power: 10 m of 2 x 1.0 mm², reader: {run}}}"})


def _over(fuse: str, size: str, limit: str = "12 A") -> str:
    """A strike behind a fuse, a short run away."""
    door = but(STRIKE, {"supply": "S1 out 1", "runs": f"{{power: 1 m of 2 x {size}}}"})
    return job(
        door,
        supplies=f"S1: {{part: supply 24 V, limit: {limit}, battery: 2 x 12 V 7 Ah, "
        f"outputs: {{1: {{fuse: {fuse}}}}}}}",
    )


def _rung(limit: str) -> str:
    """A bell by its button, on a supply without fuses."""
    runs = "{power: 5 m of 2 x 1.0 mm², bell: 5 m of 2 x 0.22 mm²}"
    door = but(STRIKE, {"bell": "bell 24 V", "bell button": "bell button", "runs": runs})
    return job(door, supplies=f"S1: {{part: supply 24 V, limit: {limit}}}")


def _on_transformer(length: str) -> str:
    """A bell on a transformer of 24 VA beside a buzzing strike."""
    door = {
        **{key: STRIKE[key] for key in ("supply", "power lost", "fire alarm", "out by")},
        "lock": "{part: strike 12 V AC fail-secure, works up to: 15 V}",
        "exit": "button",
        "bell": "bell 12 V",
        "bell button": "bell button",
        "runs": f"{{exit: 2 m of 2 x 1.0 mm², bell: {length} of 2 x 0.22 mm²}}",
    }
    return job(door, supplies="S1: {part: transformer 12 V AC, rating: 24 VA}")


def _sounding(length: str) -> str:
    """A sounder on a plain supply."""
    runs = f"{{power: 1 m of 2 x 1.0 mm², bell: {length} of 2 x 0.22 mm²}}"
    changes = {"lock": "strike 12 V fail-secure, wide range", "bell": "sounder 12 V"}
    door = but(STRIKE, {**changes, "bell button": "bell button", "runs": runs})
    return job(door, supplies="S1: {part: supply 12 V, limit: 3 A, battery: 1 x 12 V 7 Ah}")


def _far(length: str) -> str:
    """A magnet on a plain supply, its controller beside the supply."""
    runs = (
        f"{{lock: {length} of 4 x 1.0 mm², release: {length} of 4 x 1.0 mm², "
        "exit: 4 m of 4 x 0.22 mm², reader: 2 m of 6 x 0.22 mm²}"
    )
    door = but(MAGNET, {"lock": "magnet 12 V", "controller at": "supply", "runs": runs})
    return job(door, supplies='S1: {part: "supply 12 V, no battery", limit: 3 A}')


VOLTS = [
    # 12 V and 24 V: the links as they were in the box.
    Case(
        "wrong-voltage",
        "D1.lock",
        FAILS,
        job(but(MAGNET, {"lock": "magnet 12/24 V"})),
        job(but(MAGNET, {"lock": "{part: magnet 12/24 V, linked for: 24 V, holds down to: 18 V}"})),
        frozenset({"contact-overload"}),
    ),
    Case(
        "wrong-voltage",
        "D1.lock",
        FAILS,
        job(PLAIN, supplies=TWELVE),
        job(but(STRIKE, {"lock": "strike 12 V fail-secure, wide range"}), supplies=TWELVE),
        frozenset({"no-entry"}),
    ),
    Case(
        "wrong-voltage",
        "D1.controller",
        FAILS,
        job(but(STRIKE, {"controller": "controller 12 V"})),
        job(but(STRIKE, {"controller": "controller 24 V"})),
    ),
    # At the end of a battery 21 V less what fuse and battery drop; a lock that needs 20.4 V has
    # 0.6 V for its cable: at 0.107 A that is 5.6 ohm or 72 m of 0.5 mm² at 39 ohm/km, less heat,
    # tolerance and the battery's own sag.
    Case("volts-low", "D1.lock", WEAK, _plain("40 m"), _plain("15 m")),
    Case("volts-low", "D1.lock", FAILS, _plain("95 m"), _plain("15 m"), frozenset({"no-entry"})),
    # A bolt that current holds out lets go at every grant, and has to pick up again: 85 % of 24 V.
    # It holds from half of that (both common practice, no source).
    Case("volts-low", "D1.lock", FAILS, _bolt("90 m"), _bolt("2 m")),
    # Its staged coil takes three times as much as it picks up: what it has at rest says nothing.
    Case("no-relock", "D1.lock", Severity.INSECURE, _staged("26 m"), _staged("2 m")),
    # From the port's own screws the strike hangs on what feeds the controller.
    Case(
        "port-feeds-lock",
        "D1.lock",
        FAILS,
        _port(NETWORKED, PORT_4).replace(", supply: S2", ""),
        _port(NETWORKED, PORT_4),
        frozenset({"no-entry", "port-overload", "chatter", "restarts"}),
    ),
    # An unknown length is a question.
    Case("volts-low", "D1.lock", NOTE, _plain("unknown"), _plain("15 m")),
    # A stock 12 V magnet on a battery: 10.5 V less the drop is below 85 % of 12 V, and holds.
    Case(
        "pull-low",
        "D1.lock",
        NOTE,
        job(but(MAGNET, {"lock": "magnet 12 V"}), supplies=TWELVE),
        job(but(MAGNET, {"lock": "{part: magnet 12 V, works from: 9 V}"}), supplies=TWELVE),
    ),
    # On mains, at the end of a long thin run.
    Case("pull-low", "D1.lock", WEAK, _far("60 m"), _far("12 m")),
    # 27.6 V at the supply at most, some 0.15 V less at the lock, over a rating of 27.2 V; 0.015 V
    # over one of 27.43 V are less than a thousandth.
    Case(
        "volts-high",
        "D1.lock",
        WEAK,
        job(but(MAGNET, {"lock": "{part: magnet 24 V, holds down to: 18 V, works up to: 27.2 V}"})),
        job(
            but(MAGNET, {"lock": "{part: magnet 24 V, holds down to: 18 V, works up to: 27.43 V}"})
        ),
    ),
    # A strike is energised for seconds: the float's excess there is ordinary.
    Case(
        "volts-high",
        "D1.controller",
        WEAK,
        job(but(STRIKE, {"controller": "{part: controller, works up to: 27.4 V}"})),
        job(but(STRIKE, {"controller": "{part: controller, works up to: 27.6 V}"})),
    ),
    # A controller hands on to its reader what it is fed with.
    Case(
        "wrong-voltage",
        "D1.reader",
        FAILS,
        job(but(MAGNET, {"reader": "reader 12 V"})),
        job(MAGNET),
    ),
    # 0.6 A for a short-duty coil down a thin core takes the controller with it.
    Case(
        "restarts",
        "D1.controller",
        FAILS,
        job(but(HUNGRY, {"runs": "{power: 60 m of 2 x 0.5 mm²}"}), supplies=TWELVE),
        job(but(HUNGRY, {"runs": "{power: 4 m of 2 x 1.5 mm²}"}), supplies=TWELVE),
        frozenset({"volts-low", "no-entry", "chatter"}),
    ),
    # 10.5 V at the end of the battery. The magnet takes 0.4 A at 9.3 V, the controller 1.2 W at the
    # most, 0.13 A: 0.53 A through 60 m of 3 x 1.0 mm², 2.34 ohm out and back at 19.5 ohm/km (IEC
    # 60228), 5 % more at 30 °C, lose 1.3 V. It stops at 9.5 V at the most (common practice, no
    # source), with 9.2 V; over 2.5 mm² (7.98 ohm/km, 1 ohm) they lose 0.5 V. The magnet holds on.
    Case(
        "feed-low",
        "D1.controller",
        WEAK,
        job(_on_battery("60 m of 3 x 1.0 mm²"), supplies=TWELVE),
        job(_on_battery("60 m of 3 x 2.5 mm²"), supplies=TWELVE),
    ),
    Case(
        "unpowered",
        "D1.controller",
        FAILS,
        job(but(STRIKE, {"found": "[{break: power brown}]"})),
        job(STRIKE),
        frozenset({"no-entry"}),
    ),
    Case(
        "wrong-current",
        "D1.lock",
        FAILS,
        job(but(STRIKE, {"lock": "strike 24 V AC fail-secure", "diode": "-"})),
        job(but(STRIKE, {"lock": "strike 24 V AC/DC fail-secure", "diode": "-"})),
    ),
    Case(
        "wrong-current",
        "D1.lock",
        FAILS,
        job(but(BUTTON, {"lock": "strike 12 V fail-secure"}), supplies=TRANSFORMER),
        job(BUTTON, supplies=TRANSFORMER),
    ),
]


def _relay(plus: str, minus: str) -> str:
    """A relay with a diode in it, its coil's screws on the controller's plus and minus."""
    rows = (
        f"[controller.+, lead, relay.{plus}], [relay.{minus}, lead, controller.-], "
        "[controller.+, lead, controller.COM], [controller.NO, lead, lock.+], "
        "[controller.-, lead, lock.-], [lock.+, lead, diode.K], [lock.-, lead, diode.A]"
    )
    return job(but(STRIKE, {"relay": '"relay 24 V, diode"', "wiring": f"{{lock: [{rows}]}}"}))


COILS = [
    # Its diode lies across the feed in its forward direction (common practice, no source).
    Case(
        "polarity",
        "D1.relay",
        FAILS,
        _relay("A2", "A1"),
        _relay("A1", "A2"),
        frozenset({"fuse-blows", "no-entry", "supply-overload", "unpowered"}),
    ),
    Case(
        "polarity",
        "D1.controller",
        FAILS,
        job(but(STRIKE, {"found": "[{swapped: [power brown, power blue]}]"})),
        job(STRIKE),
        frozenset({"no-entry"}),
    ),
    # A plain coil does not mind.
    Case(
        "polarity",
        "D1.lock",
        FAILS,
        job(but(BUILT_IN, {"found": SWAPPED})),
        job(but(NO_DIODE, {"found": SWAPPED})),
        frozenset(
            {
                "supply-overload",
                "no-entry",
                "restarts",
                "contact-overload",
                "chatter",
                "volts-low",
                "fuse-blows",
            }
        ),
    ),
    Case(
        "suppression-missing",
        "D1.lock",
        WEAK,
        job(but(STRIKE, {"found": "[{part: diode, state: missing}]"})),
        job(STRIKE),
    ),
    Case("suppression-missing", "D1.lock", NOTE, job(but(STRIKE, {"diode": "-"})), job(STRIKE)),
    Case(
        "suppression-reversed",
        "D1.diode",
        FAILS,
        job(but(STRIKE, {"found": "[{part: diode, state: diode reversed}]"})),
        job(STRIKE),
        frozenset(
            {
                "supply-overload",
                "no-entry",
                "restarts",
                "contact-overload",
                "chatter",
                "volts-low",
                "fuse-blows",
            }
        ),
    ),
    Case(
        "suppression-forbidden",
        "D1.diode",
        FAILS,
        job(but(BUTTON, {"diode": "diode"}), supplies=TRANSFORMER),
        job(but(BUTTON, {"varistor": "varistor"}), supplies=TRANSFORMER),
        frozenset({"supply-overload", "contact-overload", "volts-low"}),
    ),
    # A relay time of 5 s.
    Case("duty", "D1.lock", FAILS, _short("4.9 s"), _short("5 s")),
    # The figure alone says it, as a data sheet has it.
    Case(
        "duty",
        "D1.lock",
        FAILS,
        job(but(STRIKE, {"lock": f"{{part: {WIDE}, energised at most: 4.9 s}}"})),
        job(but(STRIKE, {"lock": f"{{part: {WIDE}, energised at most: 5 s}}"})),
    ),
    # Without a figure: not for more than a minute (common practice, no source).
    Case(
        "duty",
        "D1.lock",
        FAILS,
        job(but(STRIKE, {"lock": f"{{part: {WIDE}, duty: short}}", "held unlocked": "yes"})),
        job(but(STRIKE, {"lock": f"{{part: {WIDE}, duty: short}}"})),
    ),
    Case(
        "duty",
        "D1.lock",
        FAILS,
        _short("60 s", "{part: controller, relay time: 2 h}"),
        _short("60 s"),
    ),
    Case(
        "duty",
        "D1.lock",
        FAILS,
        job(but(STRIKE, {"lock": "strike 24 V fail-secure, short duty", "held unlocked": "yes"})),
        job(but(STRIKE, {"lock": "strike 24 V fail-secure, short duty", "held unlocked": "no"})),
    ),
]

AMPERES = [
    # Magnet 0.25 A ± 5 % at 24 V: 0.302 A at 27.6 V in the cold; controller and reader near
    # 0.25 W/27 V; charge 0.7 A. 1.25 of that is the margin.
    Case(
        "supply-overload",
        "S1",
        WEAK,
        job(MAGNET, supplies=_limit("0.50 A")),
        job(MAGNET, supplies=_limit("0.65 A")),
    ),
    Case(
        "supply-overload",
        "S1",
        FAILS,
        job(MAGNET, supplies=_limit("0.30 A")),
        job(MAGNET, supplies=_limit("0.65 A")),
        frozenset(
            {
                "volts-low",
                "no-entry",
                "restarts",
                "unlocks-on-battery",
                "not-locked",
                "chatter",
                "pull-low",
            }
        ),
    ),
    # Three bolts that throw with 0.5 A each and hold with 0.15 A.
    Case(
        "relock-overload",
        "S1",
        FAILS,
        job(*[BOLT] * 3, supplies="S1: {part: supply 24 V, limit: 1.6 A, battery: 2 x 12 V 7 Ah}"),
        job(*[BOLT] * 3, supplies="S1: {part: supply 24 V, limit: 2.4 A, battery: 2 x 12 V 7 Ah}"),
        frozenset({"supply-overload"}),
    ),
    # One coil takes 0.68 A at 8 VA and 0.70 A at 12 VA: limits of 0.67 A and 1 A.
    Case("transformer-overload", "S1", WEAK, _rated("8 VA"), _rated("12 VA")),
    # A bell rung besides takes 0.3 A more: 1 A on 0.92 A.
    Case("transformer-overload", "S1", WEAK, _rated("11 VA", RUNG), _rated("11 VA")),
    # Held energised it takes 0.51 A for hours, more than 6 VA / 12 V.
    Case(
        "transformer-overload",
        "S1",
        FAILS,
        _rated("6 VA", {"lock": HELD_AC, "power lost": "unlocks"}),
        _rated("12 VA"),
        frozenset({"volts-low"}),
    ),
    # A channel of category cable reaches 100 m.
    Case("network-cable", "D1.power", WEAK, _far_port("101 m"), _far_port("100 m")),
    # A magnet on the 12 V meant for the reader: 6 W more than unit and reader take.
    Case("port-overload", "S1", FAILS, _from_the_reader(PORT_2), _from_the_reader(PORT_4)),
    # Class 1 promises 3.84 W to the unit, class 2 6.49 W.
    Case(
        "port-overload",
        "S1",
        FAILS,
        _port(NETWORKED, PORT_1),
        _port(NETWORKED, PORT_2),
        frozenset({"unpowered", "no-entry", "chatter", "restarts", "feed-low"}),
    ),
    # The unit's 5 W, and behind its converter a reader of 12 V * 0.4 A, or of 12 V * 0.09 A.
    Case(
        "port-overload",
        "S1",
        FAILS,
        _port(NETWORKED, PORT_2).replace("reader: reader", "reader: reader, long range"),
        _port(NETWORKED, PORT_2),
    ),
    Case(
        "ports-together",
        "site",
        FAILS,
        _port(NETWORKED, PORT_2, site=", port budget: 6.0 W"),
        _port(NETWORKED, PORT_2, site=", port budget: 6.1 W"),
    ),
    # Cores: 0.5 mm² carry 3 A, 0.75 mm² 6 A (BS 7671 table 4F3A, from memory).
    Case(
        "fuse-over-cable", "D1.power", WEAK, _over("5.0 A", "0.5 mm²"), _over("5.0 A", "0.75 mm²")
    ),
    # 18 AWG carries 7 A, 16 AWG 10 A (NEC 725.43, from memory).
    Case("fuse-over-cable", "D1.power", WEAK, _over("10 A", "18 AWG"), _over("10 A", "16 AWG")),
    # A class 2 source, 100 VA at 24 V, asks for no size (NEC chapter 9 table 11(A), from memory).
    Case("fuse-over-cable", "D1.power", WEAK, _over("4.2 A", "0.5 mm²"), _over("4.1 A", "0.5 mm²")),
    # 10 A on thin cores; and the supply's own limit, where it gives less than the fuse.
    Case(
        "fuse-over-cable", "D1.power", WEAK, _over("10 A", "0.22 mm²"), _over("2.0 A", "0.22 mm²")
    ),
    Case(
        "fuse-over-cable",
        "D1.power",
        WEAK,
        _over("10 A", "0.22 mm²"),
        _over("10 A", "0.22 mm²", limit="4 A"),
    ),
    # A bell's thin cores on the supply itself; class 2 at 24 V ends at 4.17 A.
    Case("fuse-over-cable", "D1.bell", WEAK, _rung("5 A"), _rung("4 A")),
    Case(
        "fuse-blows",
        "S1.fuse 1",
        FAILS,
        job(but(STRONG, {"supply": "S1 out 1"}), supplies=_fuse("0.25 A")),
        job(but(STRONG, {"supply": "S1 out 1"}), supplies=_fuse("1.25 A")),
        frozenset({"no-entry", "unpowered", "restarts", "volts-low"}),
    ),
    Case(
        "fuse-overload",
        "S1.fuse 1",
        WEAK,
        job(but(MAGNET, {"supply": "S1 out 1"}), supplies=_fuse("0.3 A")),
        job(but(MAGNET, {"supply": "S1 out 1"}), supplies=_fuse("0.5 A")),
    ),
    # The controller's relay may switch 2 A; the strike takes 0.125 A.
    Case(
        "contact-overload",
        "D1.controller.contact NO",
        WEAK,
        job(but(STRIKE, {"controller": "{part: controller, switches: 0.13 A}"})),
        job(but(STRIKE, {"controller": "{part: controller, switches: 0.15 A}"})),
    ),
    # A magnet, controller and reader on cores of 0.22 mm², which may carry 1 A.
    Case(
        "core-overload",
        "D1.power.white",
        WEAK,
        job(
            but(
                MAGNET,
                {
                    "lock": "{part: magnet 24 V, current: 0.8 A, holds down to: 10 V}",
                    "runs": "{power: 1 m of 2 x 0.22 mm²}",
                },
            )
        ),
        job(
            but(
                MAGNET,
                {
                    "lock": "{part: magnet 24 V, current: 0.6 A, holds down to: 10 V}",
                    "runs": "{power: 1 m of 2 x 0.22 mm²}",
                },
            )
        ),
    ),
    # 0.3 A squared times 6 ohm are 0.54 W, times 5 ohm 0.45 W.
    Case("joint-hot", "D1.J1", WEAK, job(_jointed("6.5 ohm")), job(_jointed("4.5 ohm"))),
]

CABLES = [
    # 22 m of 0.22 mm² read 3.7 ohm in a loop; a third more is another cable or a bad joint.
    Case(
        "loop-resistance",
        "D1.power",
        WEAK,
        job(but(STRIKE, {"runs": _measured("4.9 ohm")})),
        job(but(STRIKE, {"runs": _measured("3.7 ohm")})),
    ),
    Case(
        "loop-resistance",
        "D1.power",
        WEAK,
        job(but(STRIKE, {"runs": _measured("3.0 ohm")})),
        job(but(STRIKE, {"runs": _measured("3.2 ohm")})),
    ),
    # Not measured: whatever the data sheet says of the cable is taken.
    Case(
        "loop-resistance",
        "D1.power",
        WEAK,
        job(but(STRIKE, {"runs": _measured("4.9 ohm")})),
        job(but(STRIKE, {"runs": _measured("4.9 ohm").replace("measured ", "")})),
    ),
    # 22 m of 100 ohm/km are 4.4 ohm in a loop, whatever the catalogue says of that cable.
    Case(
        "loop-resistance",
        "D1.power",
        WEAK,
        job(but(STRIKE, {"runs": _measured("3.7 ohm", "resistance: 100 ohm/km, ")})),
        job(but(STRIKE, {"runs": _measured("4.4 ohm", "resistance: 100 ohm/km, ")})),
    ),
    # The odd core: 10 m of 1.0 mm² read 0.17 to 0.195 ohm.
    Case(
        "loop-resistance",
        "D1.power.brown",
        WEAK,
        job(but(STRIKE, {"found": "[{part: power brown, resistance: measured 0.4 ohm}]"})),
        job(but(STRIKE, {"found": "[{part: power brown, resistance: measured 0.2 ohm}]"})),
    ),
    Case(
        "copper-clad",
        "D1.power",
        WEAK,
        job(but(STRIKE, {"runs": '{power: {cable: "category cable, copper-clad", length: 5 m}}'})),
        job(but(STRIKE, {"runs": "{power: 5 m of category cable}"})),
    ),
    # Where it carries signals alone it does not matter.
    Case(
        "copper-clad",
        "D1.lock",
        WEAK,
        job(
            but(
                MAGNET,
                {
                    "runs": "{power: 8 m of 3 x 1.0 mm², "
                    'lock: {cable: "category cable, copper-clad", length: 2 m}}'
                },
            )
        ),
        job(
            but(
                MAGNET,
                {
                    "runs": "{power: 8 m of 3 x 1.0 mm², "
                    'exit: {cable: "category cable, copper-clad", length: 2 m}}'
                },
            )
        ),
    ),
    # 150 m on 18 AWG; in proportion 59 m on 22 AWG, 40 m on 0.22 mm².
    *(
        Case("reader-cable", "D1.reader", WEAK, job(_reader(hit)), job(_reader(near)))
        for hit, near in (
            ("151 m of 6 x 18 AWG", "150 m of 6 x 18 AWG"),
            ("60 m of 6 x 22 AWG", "59 m of 6 x 22 AWG"),
            ("41 m of 6 x 0.22 mm²", "40 m of 6 x 0.22 mm²"),
        )
    ),
    # Ohm's law by hand: 13.2 V behind 1.5 ohm, 30 ohm of bell that needs 8 V, 0.1 ohm of button
    # and 0.19 ohm/m of loop: 13.2 * 30 / 8 - 30 - 1.5 - 0.1 = 17.9 ohm, 94 m.
    Case("bell-low", "D1.bell", WEAK, _on_transformer("95 m"), _on_transformer("94 m")),
    # A sounder takes its 0.04 A whatever it is given: 13.5 V - 8 V are lost over 137 ohm.
    Case("bell-low", "D1.bell", WEAK, _sounding("740 m"), _sounding("710 m")),
]

STRIKE_ON_1 = but(STRIKE, {"supply": "S1 out 1"})
FUSED = (
    "S1: {part: supply 24 V, limit: 3 A, battery: 2 x 12 V 7 Ah, "
    "outputs: {1: {fuse: 1 A}, 2: {fuse: 1 A}}}"
)


def _by_fire_relay(throw: str) -> str:
    rows = f"[S1.+, lead, F1.COM], [F1.{throw}, lead, S2.+], [S1.-, lead, S2.-]"
    more = f"devices: {{F1: fire relay}}\nwiring: [{rows}]"
    return job(STRIKE, supplies=TWO, more=more)


JOINING = [
    Case(
        "pluses-joined",
        "S1",
        WEAK,
        job(STRIKE, supplies=TWO, more="wiring: [[S1.+, lead, S2.+], [S1.-, lead, S2.-]]"),
        job(STRIKE, supplies=TWO, more="wiring: [[S1.-, lead, S2.-]]"),
    ),
    # A fire relay is energised while all is well: its NO is closed then, its NC open.
    Case("pluses-joined", "S1", WEAK, _by_fire_relay("NO"), _by_fire_relay("NC")),
    # Common practice, no source: what two fuses feed, neither isolates.
    Case(
        "outputs-joined",
        "S1",
        WEAK,
        job(STRIKE_ON_1, supplies=FUSED, more="wiring: [[S1.2, lead, D1.controller.COM]]"),
        job(STRIKE_ON_1, supplies=FUSED, more="wiring: [[S1.1, lead, D1.controller.COM]]"),
    ),
    Case(
        "panel-zero-joined",
        "S1",
        WEAK,
        job(
            STRIKE,
            supplies=TWO,
            more="wiring: [[S1.-, lead, S2.-]]",
            site=", fire panel supply: S2",
        ),
        job(STRIKE, supplies=TWO, site=", fire panel supply: S2"),
    ),
    Case(
        "panel-supply-unknown",
        "site",
        NOTE,
        job(STRIKE, site=", fire panel supply: S9"),
        job(STRIKE, supplies=TWO, site=", fire panel supply: S2"),
    ),
    Case(
        "no-common-zero",
        "D1.controller",
        FAILS,
        job(but(READER, {"wiring": APART}), supplies=TWO),
        job(but(READER, {"wiring": APART}), supplies=TWO, more="wiring: [[S1.-, lead, S2.-]]"),
        frozenset({"no-entry"}),
    ),
    # D0 green, D1 yellow: the pair of them at the wrong screws, or not.
    Case(
        "data-swapped",
        "D1.reader",
        FAILS,
        job(but(FAR_READER, {"found": "[{swapped: [reader green, reader yellow]}]"})),
        job(FAR_READER),
    ),
    # The same in the rows as they are written.
    Case(
        "data-swapped",
        "D1.reader",
        FAILS,
        job(but(FAR_READER, {"wiring": _lines("D1", "D0")})),
        job(but(FAR_READER, {"wiring": _lines("D0", "D1")})),
    ),
    Case(
        "wiring-too-few-cores",
        "D1.reader",
        FAILS,
        job(but(READER, {"runs": "{power: 10 m of 2 x 1.0 mm², reader: 2 m of 3 x 0.22 mm²}"})),
        job(but(READER, {"runs": "{power: 10 m of 2 x 1.0 mm², reader: 2 m of 4 x 0.22 mm²}"})),
        frozenset({"no-entry"}),
    ),
    Case(
        "wiring-no-such-contact",
        "D1.exit",
        FAILS,
        job(but(STRIKE, {"exit": "button, closed at rest"})),
        job(but(STRIKE, {"exit": "button, open at rest"})),
    ),
    Case(
        "wiring-no-such-terminal",
        "D1.controller",
        FAILS,
        job(but(STRIKE, {"reader": "reader"})),
        job(READER),
        frozenset({"no-entry"}),
    ),
    # Open at its far end, the lock's core draws nothing.
    Case(
        "no-entry",
        "D1",
        FAILS,
        job(but(STRIKE, {"runs": LOCK_RUN, "found": "[{break: lock brown}]"})),
        job(but(STRIKE, {"runs": LOCK_RUN})),
    ),
    Case(
        "wiring-nothing-to-join-to",
        "D1.bell",
        FAILS,
        job(but(READER, {"bell": "bell 24 V"})),
        job(but(READER, {"bell": "bell 24 V", "bell button": "bell button"})),
    ),
    # Two doors at one contact; a pole for each of them, by its way, is none too few.
    Case(
        "wiring-one-contact-for-several-locks",
        "F1",
        FAILS,
        job(
            *(but(STRIKE, {"fire": "F1", "fire alarm": "unlocks"}) for _ in range(2)),
            more="devices: {F1: fire relay}",
        ),
        job(
            *(
                but(STRIKE, {"fire": f"F1 way {way}", "fire alarm": "unlocks", "runs": FIRE_RUN})
                for way in (1, 2)
            ),
            more='devices: {F1: "fire relay, double pole"}',
        ),
        frozenset({"fire-alarm-stays-locked"}),
    ),
    # The door's wiring is written whole, and what was added since stands in no row of it.
    Case("wiring-in-no-row", "D1.exit", WEAK, _whole({"exit": "button"}), _whole({})),
    # A contact's core on the relay's common stands where the release would have fed it.
    Case(
        "wiring-left-open",
        "D1",
        FAILS,
        _contact_on("[controller.COM, contact brown, contact.COM]"),
        _contact_on(
            "[controller.CONTACT, contact brown, contact.COM], "
            "[controller.GND, contact white, contact.NO]"
        ),
        frozenset({"not-locked"}),
    ),
    Case(
        "wiring-supply-unsaid",
        "D1",
        WEAK,
        job(but(STRIKE, {"supply": "-"}), supplies=TWO),
        job(but(STRIKE, {"supply": "-"})),
        frozenset({"no-entry", "unpowered"}),
    ),
    Case(
        "wiring-output-unsaid",
        "D1",
        NOTE,
        job(STRIKE, supplies=_fuse("1 A")),
        job(but(STRIKE, {"supply": "S1 out 1"}), supplies=_fuse("1 A")),
    ),
]

WAITS = "S1: {part: supply 24 V, limit: 3 A, battery: 2 x 12 V 7 Ah, returns by itself: no}"

RESTING = [
    # A supply that has cut its battery off and waits for a hand feeds nothing when the mains come
    # back (common practice, no source).
    Case(
        "returns-by-hand",
        "S1",
        WEAK,
        job(STRIKE, supplies=WAITS),
        job(STRIKE, supplies=WAITS.replace("no}", "yes}")),
        frozenset({"may-not-restart"}),
    ),
    Case(
        "may-not-restart",
        "D1.controller",
        FAILS,
        job(STRIKE, supplies=WAITS),
        job(STRIKE, supplies=WAITS.replace("no}", "yes}")),
        frozenset({"returns-by-hand"}),
    ),
    # Ten times the resistance of a sound one, and no hours asked.
    Case(
        "battery-weak",
        "S1",
        WEAK,
        job(STRIKE, more="found: [{part: S1, state: battery weak}]"),
        job(STRIKE),
    ),
    # Across the feed, and to earth where no supply's minus is tied to it.
    Case(
        "steady-leak",
        "D1.power.brown",
        NOTE,
        job(but(STRIKE, {"found": "[{leak: [power brown, power blue], resistance: 500 ohm}]"})),
        job(but(STRIKE, {"found": "[{leak: [power brown, earth], resistance: 500 ohm}]"})),
    ),
    # Behind a relay that the controller keeps up in idle; and behind one that a grant picks up.
    Case(
        "steady-leak",
        "D1.lock.brown",
        NOTE,
        job(
            but(
                STRIKE,
                {
                    **RELAYED,
                    "lock": "strike 24 V fail-safe, diode",
                    "diode": "-",
                    "power lost": "unlocks",
                    "wiring": "{lock: [[controller.+, lead, controller.COM], "
                    "[controller.NC, lead, relay.A1], [relay.A2, lead, controller.-], "
                    "[controller.+, lead, relay.COM], [relay.NO, lock brown, lock.+], "
                    "[controller.-, lock blue, lock.-]]}",
                },
            )
        ),
        job(but(STRIKE, RELAYED)),
    ),
    Case(
        "supply-dead",
        "S1",
        FAILS,
        job(STRIKE, more="found: [{part: S1, state: supply dead}]"),
        job(STRIKE),
        frozenset({"may-not-restart"}),
    ),
    Case(
        "chatter",
        "D1",
        FAILS,
        job(
            but(
                STRIKE,
                {
                    "relay": '"relay 24 V"',
                    "wiring": "{lock: [[controller.+, lead, relay.COM], "
                    "[relay.NC, lead, relay.A1], [relay.A2, lead, controller.-], "
                    "[controller.+, lead, controller.COM], "
                    "[controller.NO, lead, lock.+], [controller.-, lead, lock.-], "
                    "[lock.+, lead, diode.K], [lock.-, lead, diode.A]]}",
                },
            )
        ),
        job(
            but(
                STRIKE,
                {
                    "relay": '"relay 24 V"',
                    "wiring": "{lock: [[controller.+, lead, relay.A1], "
                    "[relay.A2, lead, controller.-], [controller.+, lead, controller.COM], "
                    "[controller.NO, lead, lock.+], [controller.-, lead, lock.-], "
                    "[lock.+, lead, diode.K], [lock.-, lead, diode.A]]}",
                },
            )
        ),
    ),
]

OUTPUTS = (
    "S1: {part: supply 24 V, limit: 5 A, battery: 2 x 12 V 17 Ah, "
    "outputs: {1: {fuse: 2.0 A}, 2: {fuse: 2.0 A}}}"
)


def _two_magnets(fire: str, more: str = "") -> str:
    first = but(MAGNET, {"supply": "S1 out 1", "fire": fire})
    second = but(MAGNET, {"supply": "S1 out 2", "fire": fire})
    return job(first, second, supplies=OUTPUTS, more=more)


MONITORED = '"strike 24 V fail-secure, monitored"'


def _away(changes: Door, runs: str = "", cores: int = 2) -> str:
    """A strike whose controller is beside the supply."""
    run = f"{{lock: 10 m of {cores} x 1.0 mm²{runs}}}"
    return job(but(STRIKE, {"controller at": "supply", **changes, "runs": run}))


def _in_closet(controller: str) -> str:
    """A strike whose supply stands in a closet, and whose controller stands somewhere."""
    door = but(STRIKE, {"controller at": controller, "runs": "{lock: 10 m of 2 x 1.0 mm²}"})
    return job(door, supplies=f"S1: {SUPPLY[:-1]}, place: closet}}")


def _ringing(place: str) -> str:
    """A bell somewhere, whose run comes from the supply."""
    run = "bell: 9 m of 2 x 0.5 mm²"
    bell = {"bell": f"{{part: bell 24 V, place: {place}}}", "bell button": "bell button"}
    return job(
        but(
            STRIKE,
            {**bell, "controller at": "supply", "runs": f"{{lock: 9 m of 2 x 1.0 mm², {run}}}"},
        )
    )


UNSAID = [
    # Common practice, no source: one contact can pass on one fuse's feed only.
    Case(
        "fed-elsewhere",
        "D2.lock",
        NOTE,
        _two_magnets("F1", "devices: {F1: fire relay}"),
        _two_magnets("fire relay"),
    ),
    # Common practice, no source: a cable nobody wrote down is the one that is too long.
    Case("run-unsaid", "D1", NOTE, job(but(STRIKE, {"runs": "-"})), job(STRIKE)),
    Case(
        "run-unsaid",
        "D1",
        NOTE,
        job(but(STRIKE, {"controller at": "supply", "runs": "{exit: 5 m of 4 x 0.22 mm²}"})),
        job(but(STRIKE, {"controller at": "supply", "runs": "{lock: 10 m of 2 x 1.0 mm²}"})),
    ),
    # Whatever leaves the door wants a cable, not only what carries the lock's current.
    *(
        Case(
            "run-unsaid",
            "D1",
            NOTE,
            _away({leg: device}),
            _away({leg: device}, f", {leg}: 10 m of 4 x 0.22 mm²"),
        )
        for leg, device in (("exit", "button"), ("contact", "door contact"))
    ),
    # "supply" is where the supply stands, a closet or not: from there to there is a lead.
    Case("run-unsaid", "D1", NOTE, _in_closet("desk"), _in_closet("supply")),
    # A bell in another room than the door: its run ends there, and the button wants another.
    Case("run-unsaid", "D1", NOTE, _ringing("kitchen"), _ringing("inside")),
    # Common practice, no source: two cores to the lock carry its coil alone.
    Case(
        "lock-contact-open",
        "D1.lock",
        NOTE,
        _away({"lock": MONITORED}),
        _away({"lock": MONITORED}, cores=4),
    ),
]

CASES = [*VOLTS, *COILS, *AMPERES, *CABLES, *JOINING, *RESTING, *UNSAID]
