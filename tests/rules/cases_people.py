"""Mistakes about people leaving, releases and fire; each beside a job just short of it."""

from __future__ import annotations

from latchwork.findings import Severity
from tests.rules.jobs import MAGNET, STRIKE, SUPPLY, Case, but, job

DANGER, WEAK, NOTE = Severity.DANGER, Severity.WEAK, Severity.NOTE
US = ", rule set: US model codes"
UK = ", rule set: UK and Europe"

SAID = {"release height": "1100 mm", "release distance": "400 mm", "sign": "PUSH TO EXIT"}
"""What US model codes ask of a release, written."""
TWO_LOCKS = but(MAGNET, {"second lock": "strike 24 V fail-safe, diode", "out by": "panic bar"})
"""A magnet, and beside it a strike that the panic bar frees."""
TWO_LOCKS_AND_BAR = job(but(TWO_LOCKS, {"bar": "panic bar with two-pole switch"}))
APART = but(
    STRIKE,
    {"second lock": '{part: "magnet 24 V, small", holds down to: 18 V}', "power lost": "-",
     "fire alarm": "-", "exit": "button", "release": "release"},
)  # fmt: skip
"""A strike beside a lever, and a magnet on the controller's other contact."""
SOUND_APART = job(but(APART, {"release": "release, double pole"}))
PAST = {
    "wiring": "{lock: [[controller.+, lead, controller.COM], [controller.NO, lead, lock.+], "
    "[controller.-, lead, lock.-], [controller.NC, lead, second lock.+], "
    "[controller.-, lead, second lock.-], [lock.+, lead, diode.K], [lock.-, lead, diode.A]], "
    "release: [[controller.+, lead, release.COM], [release.NO, lead, lock.+]]}"
}
"""The release puts power on the strike, which a lever frees anyway."""
BEHIND = '{part: "supply 24 V, separate charging", gives: 1 V, battery: 2 x 12 V 7 Ah}'
RATED = but(
    STRIKE,
    {"lock": "strike 24 V fail-secure, fire-listed", "fire rating": "30 min"},
)
BAR = {"out by": "panic bar", "exit": "-", "bar": "panic bar with two-pole switch"}
SENSOR = but(MAGNET, {"exit": "exit sensor", "runs": "{power: 8 m of 4 x 1.0 mm²}", **SAID})

CABINET = but(
    MAGNET,
    {"fire": "-", "fire alarm": "stays locked", "exit": "-", "release": "-", "out by": "lever"},
)
"""A magnet that nothing but a card frees."""
_DRAWER, _TWELVE = '"magnet 12 V, cabinet"', "S1: {part: supply 12 V, battery: 1 x 12 V 7 Ah}"
ASKING = but(
    STRIKE,
    {"exit": "button", "runs": "{power: 10 m of 2 x 1.0 mm², exit: 6 m of 4 x 0.22 mm²}"},
)
"""A strike beside a lever, and a button for those whose hands are full."""

PAIR = but(
    MAGNET,
    {"leaves": "2", "second lock": "{part: magnet 24 V, holds down to: 18 V}", "reader": "-",
     "controller": "controller", "fire": "-", "fire alarm": "stays locked",
     "runs": "{power: 8 m of 2 x 1.0 mm², lock: 4 m of 4 x 1.0 mm²}"},
)  # fmt: skip
"""Two leaves with a magnet each."""
HELD = {
    "wiring": "{lock: [[controller.+, lead, release.COM1], [controller.-, lead, release.COM2], "
    "[release.NC1, lead, controller.COM], [controller.NC, lock brown, lock.+], "
    "[release.NC2, lock blue, lock.-], [controller.+, lock black, second lock.+], "
    "[controller.-, lock grey, second lock.-]]}"
}
"""The second leaf's magnet on the controller's own feed: nothing frees it while there is power."""
BOTH_AT_BAR = but(
    MAGNET,
    {"out by": "panic bar", "exit": "exit sensor", "bar": "panic bar with two-pole switch",
     "fire": "-", "fire alarm": "stays locked",
     "second lock": "{part: magnet 24 V, holds down to: 18 V}"},
)  # fmt: skip
AHEAD = {
    "wiring": "{lock: [[controller.+, lead, release.COM1], [controller.-, lead, release.COM2], "
    "[release.NC1, lead, controller.COM], "
    "[controller.NC, lock brown, bar.COM1], [release.NC2, lock blue, bar.COM2], "
    "[bar.NC1, lead, lock.+], [bar.NC2, lead, lock.-], "
    "[bar.COM1, lead, second lock.+], [bar.COM2, lead, second lock.-]]}"
}

LEAVING = [
    # A flat battery on a site of one door, and of two.
    Case(
        "nobody-gets-in",
        "site",
        WEAK,
        job(but(STRIKE, {"key override": "none"})),
        job(but(STRIKE, {"key override": "outside"})),
    ),
    Case(
        "nobody-gets-in",
        "site",
        WEAK,
        job(but(STRIKE, {"key override": "none"}), but(STRIKE, {"key override": "inside"})),
        job(but(STRIKE, {"key override": "none"}), but(MAGNET, {"key override": "none"})),
    ),
    Case(
        "bar-to-pull",
        "D1",
        WEAK,
        job(but(STRIKE, {"out by": "panic bar", "swing": "inward"})),
        job(but(STRIKE, {"out by": "panic bar", "swing": "outward"})),
    ),
    Case(
        "bar-to-pull",
        "D1",
        WEAK,
        job(but(MAGNET, {**BAR, "swing": "inward"})),
        job(but(STRIKE, {"swing": "inward"})),
    ),
    Case(
        "one-leaf-only",
        "D1",
        DANGER,
        job(but(PAIR, {"active leaf": "both", **HELD})),
        job(but(PAIR, {"active leaf": "left", **HELD})),
        frozenset({"no-entry", "release-frees-one"}),
    ),
    # Nobody has said by which leaf people leave.
    Case(
        "one-leaf-only",
        "D1",
        WEAK,
        job(but(PAIR, {**HELD})),
        job(but(PAIR, {"active leaf": "right", **HELD})),
        frozenset({"no-entry", "release-frees-one"}),
    ),
    # A room whose one door nobody leaves by; a drawer has nobody in it.
    Case(
        "nobody-leaves",
        "site",
        NOTE,
        job(but(CABINET, {"escape direction": "none"})),
        job(but(CABINET, {"escape direction": "none", "lock": _DRAWER}), supplies=_TWELVE),
    ),
    # A cell beside a front door; in the one nobody is shut in, whatever else it is.
    Case(
        "kept-in-unasked",
        "site",
        NOTE,
        job(but(STRIKE, {"escape direction": "none", "may be kept in": "whoever is held"}), STRIKE),
        job(but(STRIKE, {"escape direction": "none", "may be kept in": "nobody"}), STRIKE),
    ),
    Case(
        "no-way-out",
        "D1",
        DANGER,
        job(but(STRIKE, {"out by": "nothing mechanical"})),
        job(STRIKE),
    ),
    # Nothing said of lever or bar: a question.
    Case("no-way-out", "D1", NOTE, job(but(STRIKE, {"out by": "-"})), job(STRIKE)),
    Case(
        "exit-needs-key",
        "D1",
        DANGER,
        job(but(MAGNET, {"exit": "key switch"})),
        job(but(MAGNET, {"exit": "key switch", "second exit": "button"})),
    ),
    # In a home whose residents may be kept in it is as grave, and somebody else decides.
    Case(
        "exit-needs-key",
        "D1",
        DANGER,
        job(but(MAGNET, {"exit": "key switch", "may be kept in": "residents"})),
        job(but(MAGNET, {"may be kept in": "residents"})),
    ),
    Case(
        "exit-needs-key",
        "D1",
        DANGER,
        job(but(MAGNET, {"exit": "-", "reader": "{part: reader, place: inside}"})),
        job(but(MAGNET, {"reader": "{part: reader, place: inside}"})),
    ),
    Case(
        "bar-frees-one",
        "D1.lock",
        DANGER,
        job(TWO_LOCKS),
        job(but(TWO_LOCKS, {"bar": "panic bar with two-pole switch"})),
    ),
    # A lever with a button beside it: the button frees both.
    Case(
        "bar-frees-one",
        "D1.lock",
        DANGER,
        job(but(TWO_LOCKS, {"exit": "-"})),
        job(but(TWO_LOCKS, {"out by": "lever"})),
    ),
    # The same magnet alone: whoever pushes the bar is held, with a button beside it as without.
    Case(
        "bar-frees-one",
        "D1.lock",
        DANGER,
        job(but(MAGNET, {"out by": "panic bar"})),
        job(but(MAGNET, {"out by": "panic bar", "bar": "panic bar with two-pole switch"})),
    ),
    # A touchless button waits for a hand; a sensor sees who comes to the bar.
    Case(
        "bar-frees-one",
        "D1.lock",
        DANGER,
        job(but(SENSOR, {"out by": "panic bar", "exit": '"exit button, touchless"'})),
        job(but(SENSOR, {"out by": "panic bar"})),
    ),
    # Two magnets by rows of one's own, one ahead of the bar's switch; the sensor frees both.
    Case(
        "bar-frees-one",
        "D1.second lock",
        DANGER,
        job(but(BOTH_AT_BAR, AHEAD)),
        job(BOTH_AT_BAR),
    ),
    # A lever there is, and it draws no magnet.
    Case(
        "bar-frees-none",
        "D1",
        DANGER,
        job(but(MAGNET, {"exit": "-", "out by": "lever"})),
        job(
            but(
                MAGNET,
                {
                    "exit": "-",
                    "out by": "lever",
                    "bar": "{part: lever with switch, poles: 2}",
                    "release": "release, double pole",
                },
            )
        ),
    ),
    # A broken exit core beside a lever (common practice, no source: a core that breaks unnoticed).
    Case(
        "exit-request-dead",
        "D1.exit",
        Severity.FAILS,
        job(but(ASKING, {"found": "[{break: exit white}]"})),
        job(ASKING),
    ),
    # The spare cores of the same cable are nothing.
    Case(
        "exit-request-dead",
        "D1.exit",
        Severity.FAILS,
        job(but(ASKING, {"found": "[{break: exit white}]"})),
        job(but(ASKING, {"found": "[{break: exit green}]"})),
    ),
    # A button where nobody has to leave is there to be pressed all the same.
    Case(
        "exit-request-dead",
        "D1.exit",
        Severity.FAILS,
        job(
            but(
                ASKING,
                {
                    "escape direction": "none",
                    "out by": "nothing mechanical",
                    "found": "[{break: exit white}]",
                },
            )
        ),
        job(but(ASKING, {"escape direction": "none", "out by": "nothing mechanical"})),
    ),
    Case(
        "exit-dies",
        "D1",
        DANGER,
        job(but(MAGNET, {"controller": "controller, tamper refuses everyone", "reader": "-"})),
        job(but(MAGNET, {"controller": "controller", "reader": "-"})),
    ),
    Case(
        "exit-dies",
        "D1",
        DANGER,
        job(but(MAGNET, {"controller": "controller, lock-out refuses everyone", "reader": "-"})),
        job(but(STRIKE, {"controller": "controller, lock-out refuses everyone"})),
    ),
    # With its supply: the button energises a strike, and nothing else opens.
    Case(
        "exit-dies",
        "D1",
        DANGER,
        job(but(STRIKE, {"out by": "nothing mechanical", "exit": "button"})),
        job(but(STRIKE, {"exit": "button"})),
        frozenset({"exit-dies-with-controller"}),
    ),
    # With one supply of two: the controller's, while the lock's own lives on.
    Case(
        "exit-dies",
        "D1",
        DANGER,
        job(
            but(MAGNET, {"lock": "{part: magnet 24 V, holds down to: 18 V, supply: S2}"}),
            supplies=f"S1: {SUPPLY}\nS2: {SUPPLY}",
        ),
        job(MAGNET, supplies=f"S1: {SUPPLY}\nS2: {SUPPLY}"),
    ),
    Case(
        "exit-dies-with-unit",
        "D1",
        DANGER,
        job(but(MAGNET, {"controller": "keypad, outdoor", "reader": "-"})),
        job(but(MAGNET, {"controller": "controller", "reader": "-"})),
        frozenset({"relay-outside"}),
    ),
    Case(
        "exit-dies-with-controller",
        "D1.lock",
        DANGER,
        job(but(STRIKE, {"out by": "nothing mechanical", "exit": "button"})),
        job(but(STRIKE, {"controller": "-", "exit": "button"})),
        frozenset({"exit-dies"}),
    ),
    Case(
        "no-release",
        "D1.lock",
        DANGER,
        job(but(MAGNET, {"release": "-"})),
        # A bar whose own switch breaks both poles is a release in the lock's power.
        job(but(MAGNET, {"release": "-", "bar": "panic bar with two-pole switch"})),
    ),
    # A cabinet: nobody is inside.
    Case(
        "no-release",
        "D1.lock",
        DANGER,
        job(but(MAGNET, {"release": "-", "escape direction": "outward"})),
        job(but(MAGNET, {"release": "-", "escape direction": "none"})),
    ),
    # A lever is on the inner side: who comes from outside finds a reader.
    Case(
        "escape-inward",
        "D1",
        DANGER,
        job(but(STRIKE, {"escape direction": "both"})),
        job(but(STRIKE, {"escape direction": "outward"})),
    ),
    # A magnet that an alarm and a loss of power let go holds a lobby until then.
    Case(
        "escape-inward",
        "D1",
        WEAK,
        job(but(MAGNET, {"escape direction": "inward"})),
        job(
            but(
                MAGNET,
                {
                    "escape direction": "inward",
                    "release": '{part: "release, double pole", place: outside}',
                },
            )
        ),
    ),
    Case(
        "sensor-loses-power",
        "D1.exit",
        WEAK,
        job(SENSOR, site=US),
        job(but(SENSOR, {"exit": "exit sensor, energised when idle"}), site=US),
    ),
    Case("sensor-loses-power", "D1.exit", WEAK, job(SENSOR, site=US), job(SENSOR)),
    # A lever lets people out whatever the sensor does.
    Case(
        "sensor-loses-power",
        "D1.exit",
        WEAK,
        job(SENSOR, site=US),
        job(but(STRIKE, {"exit": "exit sensor"}), site=US),
    ),
]

RELEASES = [
    Case(
        "release-signals",
        "D1.lock",
        DANGER,
        job(
            but(
                MAGNET,
                {
                    "wiring": "{lock: [[controller.COM, lead, controller.+], "
                    "[controller.NC, lock brown, lock.+], [controller.-, lock blue, lock.-]], "
                    "release: [[controller.EXIT, lead, release.COM1], "
                    "[controller.GND, lead, release.NO1]]}",
                    "fire alarm": "-",
                    "fire": "-",
                },
            )
        ),
        job(MAGNET),
    ),
    # Wired on the contact that closes: operating it joins what is joined already.
    Case(
        "release-dead",
        "D1.lock",
        DANGER,
        job(
            but(
                MAGNET,
                {
                    "wiring": "{lock: [[controller.COM, lead, controller.+], "
                    "[controller.NC, lock brown, lock.+], [controller.-, lock blue, lock.-]], "
                    "release: [[controller.COM, lead, release.COM1], "
                    "[controller.+, lead, release.NO1]]}",
                    "fire alarm": "-",
                    "fire": "-",
                },
            )
        ),
        job(MAGNET),
    ),
    Case("release-frees-one", "D1.second lock", DANGER, job(but(APART, PAST)), SOUND_APART),
    Case(
        "release-one-pole",
        "D1.release",
        WEAK,
        job(but(MAGNET, {"release": "release"})),
        job(MAGNET),
    ),
    # A release with two poles, of which the second was left out of the return.
    Case(
        "release-one-pole",
        "D1.release",
        WEAK,
        job(
            but(
                MAGNET,
                {
                    "wiring": "{release: [[controller.+, lead, release.COM1], "
                    "[release.NC1, lead, controller.COM]]}",
                    "fire alarm": "-",
                    "fire": "-",
                },
            )
        ),
        job(but(MAGNET, {"fire alarm": "-", "fire": "-"})),
    ),
    # Common practice, no source: of two poles either frees the door, so a welded one hides.
    Case(
        "release-pole-welded",
        "D1.release",
        WEAK,
        job(but(MAGNET, {"found": "[{part: release, state: contact NC1 welded}]"})),
        job(but(MAGNET, {"found": "[{part: release, state: contact NO1 stuck open}]"})),
    ),
    # The same of a bar's switch; one that stays open as the bar is pushed is in no use.
    Case(
        "release-pole-welded",
        "D1.bar",
        WEAK,
        job(but(MAGNET, {**BAR, "found": "[{part: bar, state: contact NC1 welded}]"})),
        job(but(MAGNET, {**BAR, "found": "[{part: bar, state: contact NO1 stuck open}]"})),
    ),
    # US model codes ask that the release breaks the power, not that it breaks both poles.
    Case(
        "release-one-pole",
        "D1.release",
        WEAK,
        job(but(MAGNET, {"release": "release"}), site=UK),
        job(but(MAGNET, {"release": "release", **SAID}), site=US),
    ),
    # 48 in are 1219.2 mm, 40 in 1016 mm, 5 ft 1524 mm.
    *(
        Case(
            code,
            "D1.release",
            WEAK,
            job(but(MAGNET, {**SAID, word: hit}), site=US),
            job(but(MAGNET, {**SAID, word: near}), site=US),
        )
        for code, word, hit, near in (
            ("release-height", "release height", "1220 mm", "1219 mm"),
            ("release-height", "release height", "1015 mm", "1016 mm"),
            ("release-distance", "release distance", "1525 mm", "1524 mm"),
            ("release-distance", "release distance", "61 in", "60 in"),
            ("release-sign", "sign", "EXIT", "Push to exit"),
            ("release-sign", "sign", "none", "PUSH TO EXIT"),
        )
    ),
    # Elsewhere nothing of the kind is asked.
    Case(
        "release-height",
        "D1.release",
        WEAK,
        job(but(MAGNET, {**SAID, "release height": "1500 mm"}), site=US),
        job(but(MAGNET, {**SAID, "release height": "1500 mm"}), site=UK),
    ),
    Case(
        "release-unsaid",
        "D1.release",
        NOTE,
        job(but(MAGNET, {"sign": "PUSH TO EXIT"}), site=US),
        job(but(MAGNET, SAID), site=US),
    ),
    Case(
        "release-hold",
        "D1.release",
        WEAK,
        job(but(MAGNET, {"release": "release, double pole, spring", **SAID}), site=US),
        job(but(MAGNET, {"release": "release, double pole, spring"})),
    ),
    Case(
        "release-hold",
        "D1.release",
        WEAK,
        job(but(MAGNET, {"release": "release, double pole, spring", **SAID}), site=US),
        job(but(MAGNET, {"release": "release, double pole", **SAID}), site=US),
    ),
    Case(
        "closer-fast",
        "D1",
        WEAK,
        job(but(STRIKE, {"closer speed": "4.9 s"}), site=US),
        job(but(STRIKE, {"closer speed": "5 s"}), site=US),
    ),
    Case(
        "opening-force",
        "D1",
        WEAK,
        job(but(STRIKE, {"closing force": "22.3 N"}), site=US),
        job(but(STRIKE, {"closing force": "22.2 N"}), site=US),
    ),
    Case(
        "opening-force",
        "D1",
        WEAK,
        job(but(STRIKE, {"closing force": "30 N"}), site=US),
        job(but(STRIKE, {"closing force": "30 N", "outside": "weather"}), site=US),
    ),
]

LISTED_BOLT = "{part: bolt 24 V fail-safe, fire listed: yes}"
FIRE = [
    Case(
        "fire-alarm-stays-locked",
        "D1",
        DANGER,
        job(but(MAGNET, {"fire": "-"})),
        job(MAGNET),
        frozenset({"fire-alarm-keeps-in"}),
    ),
    # Not on loss of the panel.
    Case(
        "fire-alarm-stays-locked",
        "D1",
        DANGER,
        job(but(MAGNET, {"fire": "fire relay, not held", "release category": "B"}), site=UK),
        job(but(MAGNET, {"fire": "fire relay, not held", "release category": "C"}), site=UK),
    ),
    Case(
        "fire-alarm-unlocks",
        "D1",
        Severity.INSECURE,
        job(but(MAGNET, {"fire alarm": "stays locked"})),
        job(MAGNET),
    ),
    # A cabinet in a file whose usual way out is a lever, which draws no magnet: nobody is inside.
    Case(
        "fire-alarm-keeps-in",
        "D1",
        DANGER,
        job(CABINET),
        job(but(CABINET, {"escape direction": "none"})),
        frozenset({"bar-frees-none", "no-way-out", "no-release"}),
    ),
    Case(
        "fire-alarm-keeps-in",
        "D1",
        DANGER,
        job(
            but(
                STRIKE,
                {
                    "out by": "nothing mechanical",
                    "exit": "button",
                    "release": "release",
                    "fire": "fire relay",
                    "fire alarm": "{enter: locked, leave: unlocked}",
                },
            )
        ),
        job(
            but(
                STRIKE,
                {
                    "out by": "lever",
                    "exit": "button",
                    "fire": "fire relay",
                    "fire alarm": "{enter: locked, leave: unlocked}",
                },
            )
        ),
        frozenset({"exit-dies"}),
    ),
    Case(
        "fire-door-fail-safe",
        "D1.lock",
        DANGER,
        job(but(RATED, {"lock": "strike 24 V fail-safe, diode", "power lost": "unlocks"})),
        job(
            but(RATED, {"lock": '{part: "strike 24 V fail-secure, wide range", fire listed: yes}'})
        ),
    ),
    Case(
        "fire-door-fail-safe",
        "D1.lock",
        DANGER,
        job(but(RATED, {"lock": "strike 24 V fail-safe, diode", "power lost": "unlocks"})),
        job(
            but(
                RATED,
                {
                    "lock": "strike 24 V fail-safe, diode",
                    "power lost": "unlocks",
                    "fire rating": "none",
                },
            )
        ),
    ),
    Case(
        "fire-door-energised",
        "D1.lock",
        DANGER,
        job(
            but(
                RATED,
                {
                    "fire": "fire relay, not held",
                    "wiring": "{fire: [[controller.+, lead, fire.COM], [fire.NO, lead, lock.+]]}",
                },
            )
        ),
        job(but(RATED, {"fire": "fire relay", "fire alarm": "unlocks"})),
        # The rows of the fire leg stand in place of the controller's to the lock.
        frozenset({"fire-alarm-unlocks", "no-entry"}),
    ),
    Case(
        "fire-door-magnet-alone",
        "D1.lock",
        DANGER,
        job(but(MAGNET, {"fire rating": "30 min"})),
        job(but(MAGNET, {"fire rating": "30 min", "out by": "lever"})),
    ),
    # The clock holds it unlocked, and an alarm leaves the strike its power: it has to latch in a
    # fire (NFPA 80, from memory).
    Case(
        "fire-door-energised",
        "D1.lock",
        DANGER,
        job(but(RATED, {"held unlocked": "yes"})),
        job(but(RATED, {"held unlocked": "yes", "fire": "fire relay"})),
    ),
    # A bolt that current throws is drawn without it, as a magnet lets go.
    Case(
        "fire-door-magnet-alone",
        "D1.lock",
        DANGER,
        job(but(MAGNET, {"lock": LISTED_BOLT, "fire rating": "30 min"})),
        job(but(MAGNET, {"lock": LISTED_BOLT, "fire rating": "30 min", "out by": "lever"})),
    ),
    Case(
        "fire-door-unlisted",
        "D1.lock",
        NOTE,
        job(
            but(MAGNET, {"lock": "bolt 24 V fail-safe", "fire rating": "30 min", "out by": "lever"})
        ),
        job(but(MAGNET, {"lock": LISTED_BOLT, "fire rating": "30 min", "out by": "lever"})),
    ),
    Case(
        "fire-door-no-closer",
        "D1",
        DANGER,
        job(but(RATED, {"closer": "no"})),
        job(but(RATED, {"closer": "yes"})),
    ),
    # A riser's door, kept locked shut.
    Case(
        "fire-door-no-closer",
        "D1",
        WEAK,
        job(but(RATED, {"closer": "no", "escape direction": "none"}), STRIKE),
        job(but(STRIKE, {"closer": "no", "escape direction": "none"}), STRIKE),
    ),
    Case(
        "fire-door-unlabelled",
        "D1",
        WEAK,
        job(but(RATED, {"fire label": "no"})),
        job(but(RATED, {"fire label": "yes"})),
    ),
    # Nobody wrote its minutes, and a label was seen: it is a fire door all the same.
    Case(
        "fire-door-fail-safe",
        "D1.lock",
        DANGER,
        job(
            but(
                STRIKE,
                {
                    "lock": "strike 24 V fail-safe, diode",
                    "fire label": "yes",
                    "diode": "-",
                    "power lost": "unlocks",
                    "fire alarm": "-",
                },
            )
        ),
        job(
            but(
                STRIKE,
                {
                    "lock": "strike 24 V fail-safe, diode",
                    "fire label": "no",
                    "diode": "-",
                    "power lost": "unlocks",
                    "fire alarm": "-",
                },
            )
        ),
        frozenset({"fire-door-unlisted"}),
    ),
    Case(
        "fire-door-unlisted",
        "D1.lock",
        WEAK,
        job(but(RATED, {"lock": '{part: "strike 24 V fail-secure, wide range", fire listed: no}'})),
        job(but(RATED, {"lock": "strike 24 V fail-secure, wide range"})),
    ),
    Case(
        "fire-door-unlisted",
        "D1.lock",
        NOTE,
        job(but(RATED, {"lock": "strike 24 V fail-secure, wide range"})),
        job(RATED),
    ),
    # A battery whose charger gives next to nothing, joined behind the fire contact.
    Case(
        "fire-ahead-of-battery",
        "D1",
        DANGER,
        job(
            MAGNET,
            supplies=f"S1: {SUPPLY}\nS2: {BEHIND}",
            more="wiring: [[S2.+, lead, D1.fire.NO], [S2.-, lead, S1.-]]",
        ),
        job(
            MAGNET,
            supplies=f"S1: {SUPPLY}\nS2: {BEHIND}",
            more="wiring: [[S2.-, lead, S1.-]]",
        ),
        frozenset({"pluses-joined"}),
    ),
    # Through the exit input the lock opens for the relay's time, and locks again.
    Case(
        "relocks-in-fire",
        "D1",
        DANGER,
        job(
            but(
                MAGNET,
                {
                    "fire": "fire relay, not held",
                    "wiring": "{fire: [[controller.EXIT, lead, fire.COM], "
                    "[controller.GND, lead, fire.NO]]}",
                },
            )
        ),
        job(
            but(
                MAGNET,
                {
                    "controller": "controller, reader outside",
                    "fire": "fire relay",
                },
            )
        ),
        frozenset({"fire-alarm-stays-locked", "fire-alarm-keeps-in"}),
    ),
    Case(
        "relocks-by-itself",
        "D1",
        WEAK,
        job(but(MAGNET, SAID), site=f"{US}, fire contact resets: by itself"),
        job(but(MAGNET, SAID), site=f"{US}, fire contact resets: by hand"),
    ),
    Case(
        "relocks-by-itself",
        "D1",
        NOTE,
        job(MAGNET, site=", fire contact resets: by itself"),
        job(MAGNET),
    ),
]

CASES = [*LEAVING, *RELEASES, *FIRE]
