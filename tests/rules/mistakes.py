"""Each rule's mistake, to be planted in a plot that is sound: what it is called, and where."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from tests.rules.sound_jobs import Door, Plot

Plant = Callable[[Plot, str, Door], str]
"""Changes the plot's door; the id that the finding is about."""
HOLDING = "holding"
STRIKES = "strikes"


@dataclass(frozen=True)
class Mistake:
    """A mistake: its code, the kind of plot it fits, the rule set, and how it is planted.

    ``fits`` tells whether it fits a door of that kind; ``site`` is what the file says of the site.
    """

    code: str
    kind: str
    plant: Plant
    fits: Callable[[Door], bool] = lambda door: True
    rule_set: str = "general"
    site: str = ""


def _put(subject: str, **lines: str) -> Plant:
    """Other lines for the door (``_`` for blanks, "-" takes a line out)."""

    def plant(_made: Plot, name: str, door: Door) -> str:
        for key, value in lines.items():
            field = key.replace("_", " ")
            if value == "-":
                door.pop(field, None)
            else:
                door[field] = value
        return f"{name}.{subject}".rstrip(".")

    return plant


def _found(subject: str, deviation: str) -> Plant:
    return _put(subject, found=f"[{deviation}]")


def _add_run(leg: str, run: str) -> Callable[[Door], None]:
    def add(door: Door) -> None:
        runs = door["runs"].strip("{}")
        kept = [r for r in runs.split(", ") if not r.startswith(f"{leg}:")]
        door["runs"] = "{" + ", ".join([*kept, f"{leg}: {run}"]) + "}"

    return add


def _run(subject: str, leg: str, run: str, **lines: str) -> Plant:
    """Another run for a leg, and other lines."""

    def plant(made: Plot, name: str, door: Door) -> str:
        _add_run(leg, run)(door)
        return _put(subject, **lines)(made, name, door)

    return plant


def _supply(change: Callable[[str], str], subject: str = "") -> Plant:
    """Another line for the supply."""

    def plant(made: Plot, name: str, _door: Door) -> str:
        made.supply = change(made.supply)
        return subject.replace("S", made.supply_id) if subject else name

    return plant


def _both(*plants: Plant) -> Plant:
    """Several changes; the last one says what the finding is about."""

    def plant(made: Plot, name: str, door: Door) -> str:
        return [each(made, name, door) for each in plants][-1]

    return plant


def _site(_made: Plot, _name: str, _door: Door) -> str:
    """What the file says of the site is the mistake."""
    return "site"


def _plain(door: Door) -> bool:
    """Whether the door has one plain controller with its face, and no reader."""
    return door.get("controller") == "controller"


def _own_diode(door: Door) -> bool:
    return _plain(door) and "diode" in door


def _magnet(door: Door) -> bool:
    return _plain(door) and "magnet" in door["lock"]


def _second_supply(made: Plot, line: str) -> str:
    made.supply += f"\n  {made.supply_id}b: {line}"
    return f"{made.supply_id}b"


def _reader_apart(made: Plot, name: str, door: Door) -> str:
    other = _second_supply(made, '"supply 24 V, no battery"')
    door.pop("runs")
    door["wiring"] = (
        f"{{reader: [[{other}.+, lead, reader.+], [{other}.-, lead, reader.-], "
        "[controller.D0, lead, reader.D0], [controller.D1, lead, reader.D1]]}"
    )
    return f"{name}.controller"


def _other_lock(made: Plot, _name: str, door: Door) -> str:
    other = _second_supply(made, "{part: supply 24 V, battery: 2 x 12 V 7 Ah}")
    door["lock"] = door["lock"].replace("}", f", supply: {other}}}")
    return _name


MISTAKES = (
    # People.
    Mistake(
        "no-way-out",
        STRIKES,
        _put("", out_by="nothing mechanical", exit="-", second_exit="-"),
        _plain,
    ),
    Mistake("escape-inward", STRIKES, _put("", escape_direction="both")),
    Mistake("exit-needs-key", HOLDING, _put("", exit="key switch"), _plain),
    Mistake("bar-frees-one", "two locks", _put("lock", bar="-")),
    Mistake(
        "bar-frees-none", HOLDING, _put("", exit="-", second_exit="-", out_by="lever"), _magnet
    ),
    Mistake(
        "exit-request-dead",
        STRIKES,
        _put("exit", found="[{break: exit white}]"),
        lambda door: "exit" in door and "second exit" not in door,
    ),
    Mistake(
        "exit-dies", HOLDING, _put("", controller="controller, tamper refuses everyone"), _magnet
    ),
    Mistake(
        "exit-dies", HOLDING, _put("", controller="controller, lock-out refuses everyone"), _magnet
    ),
    Mistake("exit-dies", STRIKES, _put("", out_by="nothing mechanical", exit="button"), _plain),
    Mistake("exit-dies", "controller at the supply", _other_lock),
    Mistake("exit-dies-with-unit", HOLDING, _put("", controller="keypad, outdoor"), _magnet),
    Mistake(
        "exit-dies-with-controller",
        STRIKES,
        _put("lock", out_by="nothing mechanical", exit="button"),
        _plain,
    ),
    Mistake("no-release", HOLDING, _put("lock", release="-")),
    Mistake(
        "sensor-loses-power", HOLDING, _put("exit", exit="exit sensor"), rule_set="US model codes"
    ),
    Mistake("release-one-pole", HOLDING, _put("release", release="release")),
    Mistake(
        "release-pole-welded",
        HOLDING,
        _found("release", "{part: release, state: contact NC1 welded}"),
        _magnet,
    ),
    Mistake(
        "release-one-pole", HOLDING, _put("release", release="release"), rule_set="UK and Europe"
    ),
    Mistake(
        "release-signals",
        HOLDING,
        _put(
            "lock",
            wiring="{fire: [[controller.+, lead, fire.COM], [fire.NO, lead, controller.COM]], "
            "release: [[controller.EXIT, lead, release.COM1], "
            "[controller.GND, lead, release.NO1]]}",
        ),
        _magnet,
    ),
    Mistake(
        "release-dead",
        HOLDING,
        _put(
            "lock",
            wiring="{fire: [[controller.+, lead, fire.COM], [fire.NO, lead, controller.COM]], "
            "release: [[fire.NO, lead, release.COM1], [controller.COM, lead, release.NO1]]}",
        ),
        _magnet,
    ),
    Mistake(
        "release-height",
        HOLDING,
        _put("release", release_height="1400 mm"),
        rule_set="US model codes",
    ),
    Mistake(
        "release-distance",
        HOLDING,
        _put("release", release_distance="2 m"),
        rule_set="US model codes",
    ),
    Mistake("release-sign", HOLDING, _put("release", sign="none"), rule_set="US model codes"),
    Mistake("release-unsaid", HOLDING, _put("release", sign="-"), rule_set="US model codes"),
    Mistake(
        "release-hold",
        HOLDING,
        _put("release", release="release, double pole, spring"),
        rule_set="US model codes",
    ),
    Mistake("closer-fast", STRIKES, _put("", closer_speed="4 s"), rule_set="US model codes"),
    Mistake(
        "opening-force",
        STRIKES,
        _put("", closing_force="30 N", outside="inside"),
        rule_set="US model codes",
    ),
    # Fire.
    Mistake("fire-alarm-stays-locked", HOLDING, _put("", fire="-")),
    Mistake("fire-alarm-stays-locked", HOLDING, _put("", fire="fire relay, not held")),
    Mistake("fire-alarm-unlocks", HOLDING, _put("", fire_alarm="stays locked")),
    Mistake(
        "fire-alarm-keeps-in",
        STRIKES,
        _put(
            "",
            out_by="nothing mechanical",
            exit="button",
            fire="fire relay",
            fire_alarm="{enter: locked, leave: unlocked}",
        ),
        _plain,
    ),
    Mistake(
        "fire-ahead-of-battery",
        "controller at the supply",
        lambda made, name, door: _behind_the_contact(made, name, door),
    ),
    Mistake(
        "relocks-by-itself",
        HOLDING,
        _put(""),
        rule_set="US model codes",
        site=", fire contact resets: by itself",
    ),
    Mistake(
        "relocks-in-fire",
        HOLDING,
        _put(
            "",
            fire="fire relay, not held",
            wiring="{fire: [[controller.EXIT, lead, fire.COM], [controller.GND, lead, fire.NO]]}",
        ),
        _magnet,
    ),
    Mistake(
        "fire-door-fail-safe",
        "fire-rated",
        _put("lock", lock="strike 24 V fail-safe, diode", diode="-"),
    ),
    Mistake(
        "fire-door-energised",
        "fire-rated",
        _put(
            "lock",
            fire="fire relay, not held",
            wiring="{fire: [[controller.+, lead, fire.COM], [fire.NO, lead, lock.+]], "
            "lock: [[controller.-, lead, lock.-], [lock.+, lead, diode.K], "
            "[lock.-, lead, diode.A]]}",
        ),
    ),
    Mistake("fire-door-magnet-alone", HOLDING, _put("lock", fire_rating="30 min"), _magnet),
    Mistake("bar-to-pull", STRIKES, _put("", out_by="panic bar", swing="inward")),
    Mistake("fire-door-no-closer", "fire-rated", _put("", closer="no")),
    Mistake("fire-door-unlabelled", "fire-rated", _put("", fire_label="no")),
    Mistake(
        "temperature-range",
        STRIKES,
        _put("lock", lock='{part: "strike 24 V fail-secure, diode", coldest: 0 °C}', diode="-"),
    ),
    Mistake(
        "fire-door-unlisted",
        "fire-rated",
        _put("lock", lock="{part: strike 24 V fail-secure, fire listed: no}"),
    ),
    # Security.
    Mistake(
        "not-locked",
        STRIKES,
        _put(
            "",
            wiring="{lock: [[controller.+, lead, controller.COM], [controller.NC, lead, lock.+], "
            "[controller.-, lead, lock.-], [lock.+, lead, diode.K], [lock.-, lead, diode.A]]}",
        ),
        _own_diode,
    ),
    Mistake("power-lost-unlocks", HOLDING, _put("", power_lost="stays locked")),
    Mistake("power-lost-stays-locked", STRIKES, _put("", power_lost="unlocks")),
    Mistake(
        "power-lost-keeps-in",
        STRIKES,
        _put(
            "",
            out_by="nothing mechanical",
            exit="button",
            power_lost="{enter: locked, leave: unlocked}",
        ),
        _plain,
    ),
    Mistake("power-lost-latch-free", "fail-safe strike", _put("", power_lost="{latch: stays}")),
    Mistake("relay-outside", STRIKES, _put("controller", controller="keypad, outdoor"), _plain),
    Mistake("exit-from-outside", HOLDING, _put("exit", exit="{part: button, place: outside}")),
    Mistake(
        "exit-from-outside",
        HOLDING,
        _put("exit", exit="exit sensor", sensor_seen_from_outside="yes"),
        rule_set="general",
    ),
    Mistake(
        "exit-sensor-unsaid",
        HOLDING,
        _put("exit", exit="exit sensor", outside="outside"),
        rule_set="general",
    ),
    Mistake(
        "supply-outside",
        STRIKES,
        _supply(lambda line: line.replace("{part:", "{place: outside, part:", 1), "S"),
    ),
    Mistake("installer-code", STRIKES, _put("controller", installer_code_changed="no"), _plain),
    Mistake(
        "installer-code-unsaid",
        STRIKES,
        _put("controller", controller="keypad, outdoor", installer_code_changed="-"),
        _plain,
    ),
    Mistake("magnet-alone", "cabinet", _put("", only_lock_overnight="yes")),
    Mistake("contact-missing", STRIKES, _put("", held_or_forced_told="yes", contact="-")),
    # Electrical.
    Mistake(
        "wrong-voltage", "cabinet", _put("lock", lock="{part: magnet 12/24 V, linked for: 24 V}")
    ),
    Mistake("wrong-voltage", "motor", _put("controller", controller="controller 12 V")),
    Mistake(
        "volts-low",
        "cabinet",
        _run(
            "lock",
            "power",
            "100 m of 2 x 0.5 mm²",
            lock='{part: "magnet 12 V, cabinet", holds down to: 11.5 V}',
        ),
    ),
    Mistake("pull-low", "cabinet", _run("lock", "power", "300 m of 2 x 0.5 mm²")),
    Mistake(
        "port-feeds-lock",
        "motor",
        _both(
            _supply(lambda _: '"network port, class 4"'),
            _put(
                "lock",
                controller="controller, network-fed",
                reader="-",
                lock="strike 24 V fail-secure",
            ),
        ),
    ),
    Mistake(
        "fuse-over-cable",
        "cabinet",
        _both(
            _supply(lambda _: "{part: supply 12 V, limit: 10 A}"),
            _run("power", "power", "1 m of 2 x 0.22 mm²"),
        ),
    ),
    Mistake(
        "data-swapped",
        "strikes",
        _put("reader", found="[{swapped: [reader green, reader yellow]}]"),
        lambda door: "reader" in door and "tamper" not in door["reader"],
    ),
    Mistake(
        "volts-high",
        "motor",
        _put("controller", controller="{part: controller, works up to: 22 V}"),
    ),
    Mistake(
        "restarts",
        "cabinet",
        _run(
            "controller",
            "power",
            "160 m of 2 x 0.5 mm²",
            lock="{part: strike 12 V fail-secure, current: 0.9 A}",
            power_lost="-",
            out_by="lever",
        ),
    ),
    Mistake("unpowered", "motor", _found("controller", "{break: power brown}")),
    Mistake("no-entry", "motor", _found("", "{break: power brown}")),
    Mistake("wrong-current", "transformer", _put("lock", lock="strike 12 V fail-secure")),
    Mistake("polarity", "motor", _found("controller", "{swapped: [power brown, power blue]}")),
    Mistake(
        "suppression-missing", STRIKES, _found("lock", "{part: diode, state: missing}"), _own_diode
    ),
    Mistake(
        "suppression-reversed",
        STRIKES,
        _found("diode", "{part: diode, state: diode reversed}"),
        _own_diode,
    ),
    Mistake("suppression-forbidden", "transformer", _put("diode", diode="diode")),
    Mistake(
        "duty",
        "motor",
        _put(
            "lock",
            controller="{part: controller, relay time: 90 s}",
            lock="strike 24 V fail-secure, short duty",
        ),
    ),
    Mistake("supply-overload", "motor", _supply(lambda line: line.replace("2 A", "0.05 A"), "S")),
    Mistake(
        "transformer-overload",
        "transformer",
        _supply(lambda line: f"{{part: {line}, rating: 8 VA}}", "S"),
    ),
    Mistake(
        "port-overload", "network port", _supply(lambda s: s.replace("class 3", "class 1"), "S")
    ),
    Mistake(
        "contact-overload",
        "motor",
        _put(
            "controller.contact NO",
            controller="{part: controller, switches: 0.1 A}",
            lock="strike 24 V fail-secure",
        ),
    ),
    Mistake(
        "core-overload",
        "motor",
        _run(
            "power.white",
            "power",
            "1 m of 3 x 0.22 mm²",
            lock="{part: strike 24 V fail-secure, current: 1.5 A}",
        ),
    ),
    Mistake(
        "fuse-overload",
        "timed supply",
        _supply(lambda line: line.replace("7 Ah", "7 Ah, battery fuse: 0.15 A"), "S.battery fuse"),
    ),
    Mistake(
        "joint-hot",
        "cabinet",
        _put(
            "J1",
            joints="{J1: {resistance: 2.5 ohm}}",
            lock="magnet 12 V",
            wiring="{lock: [[controller.+, lead, controller.COM], [controller.NC, lead, J1], "
            "[J1, lead, lock.+], [controller.-, lead, lock.-]]}",
        ),
    ),
    Mistake("pluses-joined", "motor", lambda made, name, door: _joined(made, "+")),
    Mistake(
        "no-common-zero",
        "strikes",
        _reader_apart,
        lambda door: (
            "reader" in door and "tamper" not in door["reader"] and door["reader"] != "reader 12 V"
        ),
    ),
    Mistake(
        "loop-resistance",
        "cabinet",
        _run(
            "power", "power", "{cable: 2 x 0.5 mm², length: 4 m, loop resistance: measured 0.6 ohm}"
        ),
    ),
    Mistake(
        "copper-clad",
        "cabinet",
        _run("power", "power", '{cable: "category cable, copper-clad", length: 2 m}'),
    ),
    Mistake(
        "reader-cable",
        "strikes",
        _run("reader", "reader", "160 m of 8 x 18 AWG"),
        lambda door: "reader" in door,
    ),
    Mistake(
        "bell-low",
        "strikes",
        _run("bell", "bell", "600 m of 4 x 0.22 mm²"),
        lambda door: "bell" in door,
    ),
    Mistake(
        "wiring-too-few-cores",
        "strikes",
        _run("reader", "reader", "2 m of 3 x 0.5 mm²"),
        lambda door: "reader" in door,
    ),
    Mistake("wiring-no-such-contact", STRIKES, _put("exit", exit="button, closed at rest"), _plain),
    Mistake("wiring-no-such-terminal", STRIKES, _put("controller", reader="reader"), _plain),
    Mistake(
        "wiring-nothing-to-join-to",
        "strikes",
        _put("bell", bell="bell 24 V", bell_button="-"),
        lambda door: "reader" in door,
    ),
    Mistake(
        "wiring-output-unsaid",
        STRIKES,
        lambda made, name, door: _output_unsaid(made, name, door),
        lambda door: door["supply"].endswith("out 2"),
    ),
    Mistake(
        "wiring-supply-unsaid",
        "motor",
        lambda made, name, door: _supply_unsaid(made, name, door),
    ),
    Mistake(
        "release-frees-one",
        HOLDING,
        _put("second lock", second_lock="strike 24 V fail-secure, diode"),
        lambda door: _magnet(door) and "24 V" in door["lock"],
    ),
    Mistake(
        "unlocks-on-battery",
        "motor",
        _both(
            _supply(lambda _: "{part: supply 24 V, limit: 2 A, battery: 2 x 12 V 7 Ah}"),
            _put("", lock="{part: magnet 24 V, holds down to: 22 V}"),
        ),
    ),
    Mistake(
        "relock-overload",
        "motor",
        _both(
            _put("", lock="bolt 24 V fail-safe, staged coil"),
            _supply(lambda line: line.replace("2 A", "0.5 A"), "S"),
        ),
    ),
    Mistake(
        "fuse-blows",
        "motor",
        _both(
            _put("", lock="{part: strike 24 V fail-secure, current: 1 A}"),
            _supply(
                lambda _: "{part: supply 24 V, limit: 3 A, outputs: {1: {fuse: 0.25 A}}}",
                "S.fuse 1",
            ),
        ),
    ),
    Mistake(
        "chatter",
        "motor",
        _put(
            "",
            lock="strike 24 V fail-secure",
            relay="relay 24 V",
            wiring="{lock: [[controller.+, lead, relay.COM], [relay.NC, lead, relay.A1], "
            "[relay.A2, lead, controller.-], [controller.+, lead, controller.COM], "
            "[controller.NO, lead, lock.+], [controller.-, lead, lock.-]]}",
        ),
    ),
    # The site.
    Mistake("isolator-outside", "cabinet", _site, site=", isolator at: outside"),
    Mistake("panel-supply-unknown", "cabinet", _site, site=", fire panel supply: S99"),
    Mistake(
        "panel-zero-joined",
        "motor",
        lambda made, name, door: _joined(made, "-"),
        site=", fire panel supply: S1b",
    ),
    Mistake("ports-together", "network port", _site, site=", port budget: 4 W"),
    Mistake("look-up", HOLDING, _site, rule_set="UK and Europe"),
    # Fit.
    Mistake("users-over-places", STRIKES, _put("controller", users="1001"), _plain),
    Mistake(
        "keys-out-of-reach",
        STRIKES,
        _put("controller", controller='"keypad, outdoor"', controller_at="supply", reader="none"),
        _plain,
    ),
    Mistake(
        "indoor-in-weather",
        STRIKES,
        _put("key switch", outside="weather", key_switch="{part: key switch, place: outside}"),
        _plain,
    ),
    Mistake(
        "enclosure-grade",
        STRIKES,
        _put(
            "key switch",
            outside="weather",
            key_switch='{part: "key switch, outdoor", ingress: IP42}',
        ),
        _plain,
    ),
    Mistake("beyond-model", STRIKES, _put("", delayed_egress="yes")),
    Mistake("beyond-model", STRIKES, _put("", interlock="the inner door")),
    Mistake("beyond-model", STRIKES, _put("", **{"anti-passback": "yes"})),
)


def _joined(made: Plot, screw: str) -> str:
    _second_supply(made, '"supply 24 V, no battery"')
    door = next(iter(made.doors.values()))
    other = f"{made.supply_id}b"
    door["cables"] = "{link: 1 m of 2 x 1.0 mm²}"
    door["wiring"] = (
        f"{{bell: [[{made.supply_id}.{screw}, link brown, {other}.{screw}], "
        f"[{made.supply_id}.-, link blue, {other}.-]]}}"
    )
    return made.supply_id


def _output_unsaid(made: Plot, name: str, door: Door) -> str:
    door["supply"] = made.supply_id
    return name


def _supply_unsaid(made: Plot, name: str, door: Door) -> str:
    _second_supply(made, '"supply 24 V, no battery"')
    del door["supply"]
    return name


def _behind_the_contact(made: Plot, name: str, door: Door) -> str:
    """A battery whose charger gives next to nothing, joined behind the fire contact."""
    line = '{part: "supply 24 V, separate charging", gives: 1 V, battery: 2 x 12 V 7 Ah}'
    other = _second_supply(made, line)
    door["wiring"] = (
        f"{{bell: [[{other}.+, lead, fire.NO], [{other}.-, lead, {made.supply_id}.-]]}}"
    )
    return name
