"""Mistakes that let somebody in, and parts that do not fit; each beside a job just short of it."""

from __future__ import annotations

from latchwork.findings import Severity
from tests.rules.jobs import MAGNET, NO_BATTERY, STRIKE, Case, Door, but, job

INSECURE, FAILS, WEAK, NOTE = Severity.INSECURE, Severity.FAILS, Severity.WEAK, Severity.NOTE
OUTDOOR = "keypad, outdoor"
WATCHED = but(STRIKE, {"contact": "door contact", "held or forced told": "yes"})
BARE = f"S1: {NO_BATTERY}"
BUILT_IN = but(STRIKE, {"lock": "strike 24 V fail-secure, diode", "diode": "-"})
ALONE = but(MAGNET, {"outside": "weather"})
RUNS = "{power: 10 m of 2 x 1.0 mm², exit: 3 m of 4 x 0.22 mm²}"
KEYED = but(STRIKE, {"key switch": "key switch", "runs": RUNS})
STUCK = {"found": "[{part: key switch, state: stuck at rest}]"}
BOTH = but(MAGNET, {"second lock": "strike 24 V fail-safe, diode"})
HELD = but(MAGNET, {"lock": "strike 24 V fail-safe, diode", "out by": "lever"})

FIRE_LISTED = '{part: "strike 24 V fail-secure, wide range", fire listed: yes}'
GONE = {"found": "[{part: lock, state: missing}]"}
SECOND_GONE = {"found": "[{part: second lock, state: missing}]"}
LEAVES = but(STRIKE, {"leaves": "2", "second lock": "strike 24 V fail-secure, diode"})
HELD_IN = "{enter: locked, leave: unlocked}"
BESIDE = but(
    MAGNET,
    {"second lock": "strike 24 V fail-secure, diode", "out by": "lever", "power lost": HELD_IN,
     "fire alarm": HELD_IN,
     "runs": "{power: 8 m of 3 x 1.0 mm², lock: 4 m of 4 x 1.0 mm²,"
     " reader: 2 m of 6 x 0.22 mm²}"},
)  # fmt: skip
RATED = {
    "fire rating": "30 min",
    "second lock": '{part: "strike 24 V fail-secure, diode", fire listed: yes}',
}

OPEN = frozenset({"power-lost-unlocks", "fire-alarm-unlocks"})

YARD = but(
    MAGNET,
    {"inner side": "weather", "controller": '{part: "controller, reader outside", place: supply}',
     "release": "{part: release, poles: 2, made for: weather}"},
)  # fmt: skip
"""A gate whose controller stands in a cabinet."""
BARRED = {"out by": "panic bar", "exit": "-"}


def _aged(age: str) -> str:
    battery = f"{{blocks: 2 x 12 V 7 Ah, age: {age}}}"
    return job(STRIKE, supplies=f"S1: {{part: supply 24 V, limit: 3 A, battery: {battery}}}")


def _rung(outside: str, grade: str) -> Door:
    """A door with a bell button of that grade in what its outer side is."""
    button = f"{{part: bell button, ingress: {grade}}}"
    return but(STRIKE, {"outside": outside, "bell": "bell 24 V", "bell button": button})


SECURITY = [
    Case(
        "not-locked",
        "D1",
        INSECURE,
        job(
            but(
                BUILT_IN,
                {
                    "wiring": "{lock: [[controller.+, lead, controller.COM], "
                    "[controller.NC, lead, lock.+], [controller.-, lead, lock.-]]}"
                },
            )
        ),
        job(
            but(
                BUILT_IN,
                {
                    "wiring": "{lock: [[controller.+, lead, controller.COM], "
                    "[controller.NO, lead, lock.+], [controller.-, lead, lock.-]]}"
                },
            )
        ),
    ),
    # A controller with nothing to unlock (common sense, no source): the lock's line was left out.
    Case(
        "not-locked",
        "D1",
        INSECURE,
        job(but(BUILT_IN, {"name": "Lockless", "lock": "-"})),
        job(BUILT_IN),
    ),
    # A lock that is not there holds nothing, whatever the volts at its cores (common sense, no
    # source): a magnet's do not hold it, a strike's do not keep it.
    Case("not-locked", "D1.lock", INSECURE, job(but(MAGNET, GONE)), job(MAGNET)),
    Case("not-locked", "D1.lock", INSECURE, job(but(STRIKE, GONE)), job(STRIKE)),
    # Nothing holds the latch of a fire-rated door then: it may not stay shut.
    Case(
        "not-locked",
        "D1.lock",
        Severity.DANGER,
        job(but(STRIKE, {"fire rating": "30 min", **GONE})),
        job(but(STRIKE, {"lock": FIRE_LISTED, "fire rating": "30 min"})),
    ),
    # Of two leaves the one without its lock is open; of two locks on one leaf the other holds, with
    # half of what was asked for (common practice, no source).
    Case(
        "not-locked",
        "D1.second lock",
        INSECURE,
        job(but(LEAVES, SECOND_GONE)),
        job(LEAVES),
        OPEN,
    ),
    Case(
        "not-locked",
        "D1.second lock",
        INSECURE,
        job(but(LEAVES, SECOND_GONE)),
        job(but(LEAVES, {"leaves": "1"})),
        OPEN,
    ),
    Case(
        "not-locked",
        "D1.second lock",
        Severity.WEAK,
        job(but(LEAVES, {"leaves": "1", **SECOND_GONE})),
        job(but(LEAVES, {"leaves": "1"})),
        frozenset({"suppression-missing"}),
    ),
    # A strike beside a magnet keeps the door when the power is gone: the magnet alone does not.
    Case(
        "not-locked",
        "D1.second lock",
        INSECURE,
        job(but(BESIDE, SECOND_GONE)),
        job(BESIDE),
        OPEN,
    ),
    # On a fire-rated door it keeps the latch, which no magnet does.
    Case(
        "not-locked",
        "D1.second lock",
        Severity.DANGER,
        job(but(BESIDE, {**RATED, **SECOND_GONE})),
        job(but(BESIDE, RATED)),
        OPEN | {"fire-alarm-latch-free"},
    ),
    # A magnet that is gone beside a strike: the strike still keeps the door, whatever the power.
    Case(
        "not-locked",
        "D1.lock",
        Severity.WEAK,
        job(but(BESIDE, GONE)),
        job(BESIDE),
        OPEN,
    ),
    # On the same contact a relay that drops on a grant does what is asked: outcomes, not habits.
    Case(
        "not-locked",
        "D1",
        INSECURE,
        job(
            but(
                BUILT_IN,
                {
                    "wiring": "{lock: [[controller.+, lead, controller.COM], "
                    "[controller.NC, lead, lock.+], [controller.-, lead, lock.-]]}"
                },
            )
        ),
        job(
            but(
                BUILT_IN, {"controller": "controller, relay energised when idle", "power lost": "-"}
            )
        ),
    ),
    Case(
        "power-lost-unlocks",
        "D1",
        INSECURE,
        job(but(MAGNET, {"power lost": "stays locked"})),
        job(MAGNET),
    ),
    Case(
        "power-lost-stays-locked",
        "D1",
        Severity.DANGER,
        job(but(STRIKE, {"power lost": "unlocks"})),
        job(STRIKE),
    ),
    Case(
        "power-lost-keeps-in",
        "D1",
        Severity.DANGER,
        job(
            but(
                STRIKE,
                {
                    "power lost": "{enter: locked, leave: unlocked}",
                    "exit": "button",
                    "out by": "nothing mechanical",
                    "release": "release",
                },
            )
        ),
        job(but(STRIKE, {"power lost": "{enter: locked, leave: unlocked}", "exit": "button"})),
        frozenset({"exit-dies"}),
    ),
    Case(
        "power-lost-latch-free",
        "D1",
        Severity.DANGER,
        job(
            but(
                STRIKE,
                {
                    "power lost": "{latch: stays}",
                    "lock": "strike 24 V fail-safe, diode",
                    "fire alarm": "-",
                },
            )
        ),
        job(but(STRIKE, {"power lost": "{latch: stays}"})),
    ),
    Case(
        "unlocks-on-battery",
        "D1",
        INSECURE,
        job(but(MAGNET, {"lock": "{part: magnet 24 V, holds down to: 22 V}"})),
        job(but(MAGNET, {"lock": "{part: magnet 24 V, holds down to: 20 V}"})),
        frozenset({"volts-low"}),
    ),
    Case(
        "relay-outside",
        "D1.controller",
        INSECURE,
        job(but(STRIKE, {"controller": OUTDOOR})),
        job(but(STRIKE, {"controller": "controller"})),
    ),
    # Whoever opens its case in the lobby parts what holds the magnet.
    Case(
        "relay-outside",
        "D1.fire",
        INSECURE,
        job(but(MAGNET, {"fire": "{part: fire relay, place: outside}", "outside": "inside"})),
        job(but(MAGNET, {"fire": "{part: fire relay, place: supply}"})),
    ),
    # The outdoor keypad as a reader: its relay is joined to nothing.
    Case(
        "relay-outside",
        "D1.controller",
        INSECURE,
        job(but(STRIKE, {"controller": "{part: controller, place: outside}", "outside": "inside"})),
        job(but(STRIKE, {"controller": '{part: "keypad, outdoor", place: inside}'})),
    ),
    Case(
        "exit-from-outside",
        "D1.exit",
        INSECURE,
        job(but(MAGNET, {"exit": "{part: button, place: outside}"})),
        job(but(MAGNET, {"exit": "{part: button, place: by the desk}"})),
        frozenset({"no-way-out"}),
    ),
    Case(
        "exit-from-outside",
        "D1.exit",
        INSECURE,
        job(but(MAGNET, {"exit": "exit sensor", "sensor seen from outside": "yes"})),
        job(but(MAGNET, {"exit": "exit sensor", "sensor seen from outside": "no"})),
    ),
    # Off a roof they come in by its button, and a card is for those who go out there.
    Case(
        "exit-from-outside",
        "D1.exit",
        INSECURE,
        job(but(MAGNET, {"exit": "{part: button, place: outside}"})),
        job(but(MAGNET, {"exit": "{part: button, place: outside}", "escape direction": "inward"})),
        frozenset({"no-way-out"}),
    ),
    # A hand through the bars of a gate pulls a release as it pushes a button. Where people escape
    # inward, those outside need it.
    Case(
        "exit-from-outside",
        "D1.release",
        INSECURE,
        job(but(MAGNET, {"release": '{part: "release, double pole", place: outside}'})),
        job(but(MAGNET, {"release": '{part: "release, double pole", place: by the desk}'})),
        frozenset({"no-release"}),
    ),
    Case(
        "exit-from-outside",
        "D1.release",
        INSECURE,
        job(but(MAGNET, {"release": '{part: "release, double pole", place: outside}'})),
        job(
            but(
                MAGNET,
                {
                    "release": '{part: "release, double pole", place: outside}',
                    "escape direction": "both",
                    "out by": "panic bar",
                    "exit": "-",
                    "bar": "panic bar with two-pole switch",
                },
            )
        ),
        frozenset({"no-release"}),
    ),
    # A button is not set off by what it sees.
    Case(
        "exit-from-outside",
        "D1.exit",
        INSECURE,
        job(but(MAGNET, {"exit": "exit sensor", "sensor seen from outside": "yes"})),
        job(but(MAGNET, {"sensor seen from outside": "yes"})),
    ),
    # A can of cold air through the gap is what everybody tries; a door within the house has no
    # street.
    Case(
        "exit-sensor-unsaid",
        "D1.exit",
        NOTE,
        job(but(MAGNET, {"exit": "exit sensor", "outside": "outside"})),
        job(
            but(
                MAGNET,
                {"exit": "exit sensor", "outside": "outside", "sensor seen from outside": "no"},
            )
        ),
    ),
    Case(
        "exit-sensor-unsaid",
        "D1.exit",
        NOTE,
        job(but(MAGNET, {"exit": "exit sensor", "outside": "outside"})),
        job(but(MAGNET, {"exit": "exit sensor", "outside": "inside"})),
    ),
    Case(
        "exit-sensor-unsaid",
        "D1.exit",
        NOTE,
        job(but(MAGNET, {"exit": "exit sensor", "outside": "outside"})),
        job(but(MAGNET, {"exit": '"exit button, touchless"', "outside": "outside"})),
    ),
    Case(
        "supply-outside",
        "S1",
        INSECURE,
        job(STRIKE, supplies="S1: {part: supply 24 V, battery: 2 x 12 V 7 Ah, place: outside}"),
        job(STRIKE, supplies="S1: {part: supply 24 V, battery: 2 x 12 V 7 Ah, place: inside}"),
        frozenset({"indoor-in-weather"}),
    ),
    Case(
        "isolator-outside",
        "site",
        INSECURE,
        job(MAGNET, supplies=BARE, site=", isolator at: outside"),
        job(MAGNET, site=", isolator at: outside"),
    ),
    Case(
        "isolator-outside",
        "site",
        NOTE,
        job(STRIKE, supplies=BARE, site=", isolator at: outside"),
        job(STRIKE, supplies=BARE, site=", isolator at: inside"),
    ),
    Case(
        "installer-code",
        "D1.controller",
        INSECURE,
        job(but(STRIKE, {"installer code changed": "no"})),
        job(but(STRIKE, {"installer code changed": "yes"})),
    ),
    Case(
        "installer-code",
        "D1.controller",
        INSECURE,
        job(STRIKE, site=", installer code changed: no"),
        job(but(STRIKE, {"installer code changed": "yes"}), site=", installer code changed: no"),
    ),
    # A controller that takes cards alone has no code to know.
    Case(
        "installer-code",
        "D1.controller",
        INSECURE,
        job(STRIKE, site=", installer code changed: no"),
        job(but(STRIKE, {"controller": "controller, card"}), site=", installer code changed: no"),
    ),
    # Keys outside beside the works, and nothing said: a question.
    Case(
        "installer-code-unsaid",
        "D1.controller",
        NOTE,
        job(but(STRIKE, {"controller": OUTDOOR})),
        job(STRIKE),
        frozenset({"relay-outside"}),
    ),
    Case(
        "installer-code-unsaid",
        "D1.controller",
        NOTE,
        job(but(STRIKE, {"controller": OUTDOOR})),
        job(but(STRIKE, {"controller": '{part: "keypad, outdoor", place: inside}'})),
        frozenset({"relay-outside"}),
    ),
    Case("magnet-alone", "D1", INSECURE, job(ALONE, supplies=BARE), job(ALONE)),
    Case("magnet-alone", "D1", INSECURE, job(ALONE, supplies=BARE), job(MAGNET, supplies=BARE)),
    Case(
        "magnet-alone",
        "D1",
        INSECURE,
        job(but(MAGNET, {"only lock overnight": "yes"}), supplies=BARE),
        job(but(ALONE, {"only lock overnight": "no"}), supplies=BARE),
    ),
    # A strike that current holds lets the latch pass in every outage, as a magnet does.
    Case(
        "magnet-alone",
        "D1",
        INSECURE,
        job(but(HELD, {"only lock overnight": "yes"}), supplies=BARE),
        job(but(HELD, {"outside": "outside"}), supplies=BARE),
    ),
    # A key beside cards and codes opens no more; those open as ever.
    Case("no-entry", "D1", FAILS, job(but(KEYED, STUCK)), job(KEYED)),
    # Nothing said, and a strike beside the magnet: the door has a latch.
    Case(
        "magnet-alone",
        "D1",
        INSECURE,
        job(but(BOTH, {"only lock overnight": "yes"}), supplies=BARE),
        job(but(BOTH, {"outside": "outside"}), supplies=BARE),
    ),
    Case(
        "contact-missing",
        "D1",
        FAILS,
        job(but(WATCHED, {"contact": "-"})),
        job(WATCHED),
    ),
    # A contact that nothing watches.
    Case(
        "contact-missing",
        "D1",
        FAILS,
        job(but(WATCHED, {"wiring": "{contact: []}"})),
        job(but(WATCHED, {"held or forced told": "no", "contact": "-"})),
        frozenset({"wiring-nothing-to-join-to"}),
    ),
]

FIT = [
    Case(
        "users-over-places",
        "D1.controller",
        FAILS,
        job(but(STRIKE, {"users": "1001"})),
        job(but(STRIKE, {"users": "1000"})),
    ),
    Case(
        "users-over-places",
        "D1.controller",
        FAILS,
        job(STRIKE, site=", users: 1001"),
        job(but(STRIKE, {"users": "12"}), site=", users: 1001"),
    ),
    Case(
        "keys-out-of-reach",
        "D1.controller",
        FAILS,
        job(
            but(
                STRIKE,
                {
                    "controller": "keypad, outdoor",
                    "controller at": "supply",
                    "runs": "{lock: 10 m of 2 x 1.0 mm²}",
                },
            )
        ),
        job(
            but(
                STRIKE,
                {
                    "controller": "controller",
                    "controller at": "supply",
                    "runs": "{lock: 10 m of 2 x 1.0 mm²}",
                },
            )
        ),
    ),
    Case(
        "indoor-in-weather",
        "D1.bell button",
        WEAK,
        job(
            but(
                STRIKE,
                {
                    "outside": "weather",
                    "bell": "bell 24 V",
                    "bell button": "{part: bell button, made for: inside}",
                },
            )
        ),
        job(but(STRIKE, {"outside": "weather", "bell": "bell 24 V", "bell button": "bell button"})),
    ),
    # Under cover a part made for outside will do; in the weather it will not.
    Case(
        "indoor-in-weather",
        "D1.bell button",
        WEAK,
        job(
            but(
                STRIKE,
                {
                    "outside": "weather",
                    "bell": "bell 24 V",
                    "bell button": "{part: bell button, made for: outside}",
                },
            )
        ),
        job(
            but(
                STRIKE,
                {
                    "outside": "outside",
                    "bell": "bell 24 V",
                    "bell button": "{part: bell button, made for: outside}",
                },
            )
        ),
    ),
    Case(
        "indoor-in-weather",
        "D1.exit",
        WEAK,
        job(but(MAGNET, {"exit": "{part: button, place: weather}", "outside": "inside"})),
        job(but(MAGNET, {"exit": "button"})),
        frozenset({"exit-from-outside", "no-way-out"}),
    ),
    # A gate's inner side is a yard: nobody reaches the button from outside, and rain does.
    Case(
        "indoor-in-weather",
        "D1.exit",
        WEAK,
        job(but(YARD, {"exit": "button"})),
        job(but(YARD, {"exit": "{part: button, made for: weather}"})),
    ),
    # A gate has weather on both sides: what is in its frame is wet. A street door's frame is half
    # indoors, where an indoor magnet will do (common practice, no source).
    Case(
        "indoor-in-weather",
        "D1.lock",
        WEAK,
        job(but(YARD, {"outside": "weather", "exit": "{part: button, made for: weather}"})),
        job(
            but(
                MAGNET,
                {"outside": "weather", "only lock overnight": "no"},
            )
        ),
    ),
    Case(
        "indoor-in-weather",
        "D1.bar",
        WEAK,
        job(but(YARD, {**BARRED, "bar": "panic bar with switch"})),
        job(but(YARD, {**BARRED, "bar": "{part: panic bar with switch, made for: weather}"})),
    ),
    # The site has 5 to 30 °C; the leaf's outer side is under cover, its inner side inside.
    Case(
        "temperature-range",
        "D1.bell button",
        WEAK,
        job(_rung("outside", "IP54, coldest: 6 °C")),
        job(_rung("outside", "IP54, coldest: 5 °C")),
    ),
    Case(
        "temperature-range",
        "D1.bell button",
        WEAK,
        job(_rung("outside", "IP54, hottest: 29 °C")),
        job(_rung("outside", "IP54, hottest: 30 °C")),
    ),
    Case(
        "temperature-range",
        "D1.controller",
        NOTE,
        job(but(STRIKE, {"controller": "{part: controller, coldest: 6 °C}"})),
        job(STRIKE),
    ),
    # Changed after four years (common practice, no source).
    Case("battery-old", "S1", WEAK, _aged("49 months"), _aged("48 months")),
    Case("battery-old", "S1", WEAK, _aged("5 years"), _aged("3 to 5 years")),
    # Fourth digit: splashed water (4) in the weather, drops on a tilted case (2) under cover.
    *(
        Case(
            "enclosure-grade",
            "D1.bell button",
            WEAK,
            job(_rung(outside, hit)),
            job(_rung(outside, near)),
        )
        for outside, hit, near in (
            ("weather", "IP43", "IP44"),
            ("weather", "IP34", "IP44"),
            ("outside", "IP41", "IP42"),
            ("weather", "IP53", "IPX4"),
        )
    ),
    Case(
        "beyond-model",
        "D1",
        WEAK,
        job(but(STRIKE, {"delayed egress": "yes"})),
        job(but(STRIKE, {"delayed egress": "no"})),
    ),
    Case(
        "beyond-model",
        "D1",
        WEAK,
        job(but(STRIKE, {"interlock": "D4"})),
        job(but(STRIKE, {"interlock": "none"})),
    ),
    Case(
        "beyond-model",
        "D1",
        WEAK,
        job(but(STRIKE, {"anti-passback": "yes"})),
        job(but(STRIKE, {"anti-passback": "no"})),
    ),
    Case("look-up", "site", NOTE, job(MAGNET, site=", rule set: UK and Europe"), job(MAGNET)),
]

CASES = [*SECURITY, *FIT]
