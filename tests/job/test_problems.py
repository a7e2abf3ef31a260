"""What cannot be named or measured is told: where, what was found, what would be taken."""

from __future__ import annotations

import pytest

from latchwork.job import JobErrors, nearest, one_of, read_job_text
from latchwork.tree.read import MAX_PROBLEMS
from tests.job.samples import HEAD, codes, problems

LOCK = "lock: magnet 24 V, cables: {main: 3 m of 4 x 0.22 mm²}, joints: {J1: {}}"

TOLD = [
    # fields of door D1, code, field, found, a part of what is expected
    ("lokc: magnet", "field.name", "", "lokc", "nearest is lock"),
    ("out by: levr", "field.choice", "out by", "levr", "nearest is lever"),
    ("outside: sunny", "field.choice", "outside", "sunny", "one of: inside, outside, weather"),
    ("power lost: opens", "field.choice", "power lost", "opens", "unlocks, stays locked"),
    ("power lost: {enter: shut}", "field.choice", "power lost.enter", "shut", "locked, unlocked"),
    ("power lost: {entr: locked}", "field.name", "power lost", "entr", "enter"),
    ("power lost: [locked]", "field.shape", "power lost", "a list", "enter"),
    ("leaves: 3", "field.count", "leaves", "3", "from 1 to 2"),
    ("users: many", "field.count", "users", "many", "a whole number"),
    ("closer: perhaps", "field.yes-no", "closer", "perhaps", "yes or no"),
    ("release height: 1100", "quantity.no-unit", "release height", "1100", "18 m or 60 ft"),
    ("release height: 12 V", "quantity.wrong-unit", "release height", "12 V", "a length"),
    ("name: [a]", "field.shape", "name", "a list", "a text"),
    ("lock: [a]", "field.shape", "lock", "a list", "part"),
    ("lock: {holds down to: 20.4 V}", "device.no-part", "lock", "no part", "part: and"),
    ("lock: {part: m, at: 20.4}", "quantity.no-unit", "lock.at", "20.4", "with its unit"),
    ("lock: {part: m, at: 0.5 q}", None, "lock.at", "", ""),
    ("runs: {pwer: 3 m of x}", "field.name", "runs", "pwer", "power"),
    ("runs: {power: 18 of x}", "quantity.no-unit", "runs.power", "18", "18 m or 60 ft"),
    ("runs: {power: 18 V of x}", "quantity.wrong-unit", "runs.power", "18 V", "a length"),
    ("runs: {power: 18 m 2 x 1.0 mm²}", "run.form", "runs.power", "18 m 2", "the word of"),
    ("runs: {power: 3 m of 2 x 1.0}", "quantity.no-unit", "runs.power", "2 x 1.0", "mm² or AWG"),
    ("runs: {power: {length: 3 m}}", "field.missing", "runs.power", "no cable", "cable: 2 x"),
    ("supply: S9", "supply.unknown", "supply", "S9", "one of: S1"),
    ("supply: S1 output 1", "supply.form", "supply", "S1 output 1", "S1 out 1"),
    ("supply: S1.1", "supply.form", "supply", "S1.1", "S1 out 1; a dot"),
    ("controller: F1.2", "device.form", "controller", "F1.2", "F1 way 2; a dot"),
    ("fire: F9", "device.unknown", "fire", "F9", "one of: F1"),
    ("controller: C1 way 2", "device.unknown", "controller", "C1", "F1"),
    ("cables: {a b: 3 m of x}", "id.form", "cables", "a b", "without spaces"),
    ("cables: {open: 3 m of x}", "id.word", "cables", "open", "joined to nothing"),
    ("joints: {Earth: {}}", "id.word", "joints", "Earth", "the earth of the building"),
    ("cables: {trunk: 3 m of x}", "id.twice", "cables.trunk", "trunk", "of the site"),
    ("runs: {exit: 3 m of x}, cables: {exit: 3 m of x}", "id.twice", "cables.exit", "exit", "run"),
    ("joints: {lock: {}}", "id.twice", "joints.lock", "lock", "what a device is called"),
    ("joints: {J9: {}}", "id.twice", "joints.J9", "J9", "of the site"),
    ("wiring: lead", "field.shape", "wiring", "lead", "[from, core or lead, to]"),
    ("wiring: {pwer: []}", "field.leg", "wiring", "pwer", "power"),
    ("wiring: {power: x}", "field.shape", "wiring.power", "x", "rows"),
    ("wiring: [x]", "row.form", "wiring.1", "x", "[from, core or lead, to]"),
    ("wiring: [[S1.+, lead]]", "row.form", "wiring.1", "2 things", "three things"),
    (f"{LOCK}, wiring: [[lok.+, lead, J1]]", "reference.unknown", "wiring.1", "lok", "is lock"),
    (f"{LOCK}, wiring: [[lock, lead, J1]]", "terminal.missing", "wiring.1", "lock", "lock.NO"),
    (f"{LOCK}, wiring: [[lock., lead, J1]]", "terminal.missing", "wiring.1", "lock.", "lock.NO"),
    (f"{LOCK}, wiring: [[D1.lock, lead, J1]]", "terminal.missing", "wiring.1", "D1.lock", "k.NO"),
    (f"{LOCK}, wiring: [[exit.NO, lead, J1]]", "device.not-fitted", "wiring.1", "exit", "lock"),
    (f"{LOCK}, wiring: [[lock.+, lead, J2]]", "reference.unknown", "wiring.1", "J2", "J1"),
    (f"{LOCK}, wiring: [[D7.lock.+, lead, J1]]", "reference.unknown", "wiring.1", "D7", "one of"),
    (f"{LOCK}, wiring: [[D1.lokc.+, lead, J1]]", "reference.unknown", "wiring.1", "lokc", "lock"),
    (f"{LOCK}, wiring: [[lock.+, mian red, J1]]", "cable.unknown", "wiring.1", "mian", "is main"),
    (f"{LOCK}, wiring: [[lock.+, main, J1]]", "core.missing", "wiring.1", "main", "main brown"),
    (f"{LOCK}, wiring: [[lock.+, main a + main a, J1]]", "core.twice", "wiring.1", "a", "once"),
    (f"{LOCK}, found: x", "field.shape", "found", "x", "a list"),
    (f"{LOCK}, found: [x]", "field.shape", "found.1", "x", "{break: power brown}"),
    (f"{LOCK}, found: [{{}}]", "found.kind", "found.1", "nothing", "one of: moved"),
    (f"{LOCK}, found: [{{brake: main a}}]", "found.kind", "found.1", "brake", "is break"),
    (f"{LOCK}, found: [{{break: main a, short: b}}]", "found.kind", "found.1", "break, short", ""),
    (f"{LOCK}, found: [{{break: main a, too: b}}]", "field.name", "found.1", "too", "one of"),
    (f"{LOCK}, found: [{{break: mian a}}]", "reference.unknown", "found.1.break", "mian a", ""),
    (f"{LOCK}, found: [{{break: main a, at: 4}}]", "quantity.no-unit", "found.1.at", "4", "m"),
    (
        f"{LOCK}, found: [{{break: main a, at: 4 m from lokc}}]",
        "reference.unknown",
        "found.1.at",
        "lokc",
        "is lock",
    ),
    (f"{LOCK}, found: [{{short: main a}}]", "found.two", "found.1.short", "main a", "two in"),
    (f"{LOCK}, found: [{{leak: [main a, earth]}}]", "field.missing", "found.1", "no res", "10 k"),
    (
        f"{LOCK}, found: [{{leak: [main a, earth], resistance: unknown}}]",
        "found.unknown",
        "found.1.resistance",
        "unknown",
        "a guess",
    ),
    (f"{LOCK}, found: [{{part: lock}}]", "found.part", "found.1", "neither", "state"),
    (f"{LOCK}, found: [{{moved: main a, from: lock.+}}]", "field.missing", "found.1", "no to", ""),
    (f"{LOCK}, found: [{{missing: lokc}}]", "reference.unknown", "found.1.missing", "lokc", ""),
    ("waivers: x", "field.shape", "waivers", "x", "a list"),
    ("waivers: [{finding: F1}]", "field.missing", "waivers.1", "no reason", "reason:"),
]

SITE = (
    "supplies: {S1: supply 24 V}\ndevices: {F1: fire relay}\n"
    "cables: {trunk: 3 m of 2 x 2.5 mm²}\njoints: {J9: {}}\n"
)


@pytest.mark.parametrize(("fields", "code", "field", "found", "expected"), TOLD)
def test_is_told(fields: str, code: str | None, field: str, found: str, expected: str) -> None:
    told = [p for p in problems(f"{SITE}doors: {{D1: {{{fields}}}}}\n") if p.code == code]
    if code is None:
        assert told == []
        return
    problem = told[0]
    assert problem.field == f"doors.D1.{field}".rstrip(".")
    assert found in problem.found
    assert expected in problem.expected
    assert (problem.file, problem.line) == ("job.yaml", 6)
    assert problem.column > 1


@pytest.mark.parametrize(
    ("text", "code", "field", "expected"),
    [
        ("sites: {}\n", "field.name", "", "nearest is site"),
        ("site: {mains: 230}\n", "quantity.pieces", "site.mains", "230 V 50 Hz"),
        ("site: {mains: -230 V 50 Hz}\n", "quantity.pieces", "site.mains", "230 V 50 Hz"),
        ("site: {ambient: 35}\n", "quantity.no-unit", "site.ambient", "-10 to 35 °C"),
        (
            "site: {ambient: -400 to 35 °C}\n",
            "quantity.below-zero",
            "site.ambient",
            "absolute zero",
        ),
        ("site: {standby: 4}\n", "quantity.no-unit", "site.standby", "5 s or 4 h"),
        ("site: {time zone: Mars}\n", "field.text", "site.time zone", "Europe/London"),
        ("site: {time zone: ../../etc/passwd}\n", "field.text", "site.time zone", "Europe/London"),
        ("site: {rule set: mine}\n", "field.choice", "site.rule set", "UK and Europe"),
        ("site: x\n", "field.shape", "site", "names with a colon"),
        ("supplies: [S1]\n", "field.shape", "supplies", "an id"),
        ("supplies: {S1: {limit: 3 A}}\n", "device.no-part", "supplies.S1", "part:"),
        ("supplies: {S1: {part: s, battery: big}}\n", "battery.form", "supplies.S1.battery", "2 x"),
        ("supplies: {S1: {part: s, battery: {age: 3 years}}}\n", "field.missing", "", "blocks"),
        ("supplies: {S1: {part: s, outputs: {1: 1 A}}}\n", "field.shape", "", "fuse"),
        (
            "supplies: {S1: {part: s, outputs: {1: {fuse: 1 A, polymer fuse: 1 A}}}}\n",
            "supply.two-fuses",
            "supplies.S1.outputs.1",
            "one fuse",
        ),
        (
            "supplies: {S1: s}\ncables: {S1: 3 m of x}\n",
            "id.twice",
            "cables.S1",
            "supplies, line 2",
        ),
        ("devices: {lock: magnet}\n", "id.taken", "devices.lock", "what a device"),
        ("devices: {C1: {part: c, supply: S7}}\n", "supply.unknown", "devices.C1.supply", "none"),
        ("taps: {K1: {on: trunk, at: 3 m}}\n", "cable.unknown", "taps.K1.on", "none"),
        ("cables: {t: 9 m of x}\ntaps: {K1: {on: t, at: unknown}}\n", "tap.no-length", "", "guess"),
        ("cables: {t: 9 m of x}\ntaps: {K1: {on: t}}\n", "field.missing", "taps.K1", "at: 21 m"),
        (
            "cables: {t: 9 m of x}\ntaps: {K1: {on: t, at: 3 m from S1}}\n",
            "reference.unknown",
            "taps.K1.at",
            "K1",
        ),
        ("wiring: [[controller.NO, lead, open]]\n", "reference.unknown", "wiring.1", "none"),
        (
            "doors: {D1: {exit: button}}\nfound: [{part: D1.exit, state: missing}]\n",
            "reference.elsewhere",
            "found.1.part",
            "exit, under doors.D1.found",
        ),
        ("usual: {name: x}\n", "field.name", "usual", ""),
        ("usual: x\n", "field.shape", "usual", "names with a colon"),
        ("doors: [D1]\n", "field.shape", "doors", "an id"),
        ("doors: {D1: strike}\n", "field.shape", "doors.D1", "names with a colon"),
        ("doors: {lead: {}}\n", "id.word", "doors", "a wire without a cable"),
    ],
)
def test_of_the_site_is_told(text: str, code: str, field: str, expected: str) -> None:
    told = [problem for problem in problems(text) if problem.code == code]
    assert len(told) == 1, problems(text)
    assert field in told[0].field
    assert expected in told[0].expected


@pytest.mark.parametrize("version", ["2", "1.0", "one", "[1]"])
def test_another_version_is_refused(version: str) -> None:
    with pytest.raises(JobErrors, match="1, the version of the format"):
        read_job_text(f"latchwork: {version}\n", "job.yaml")


def test_no_version_is_told() -> None:
    with pytest.raises(JobErrors) as caught:
        read_job_text("site: {}\n", "job.yaml")
    assert [p.expected for p in caught.value.problems] == ["latchwork: 1"]


def test_all_problems_come_in_one_go_in_the_order_of_the_file() -> None:
    text = (
        "site: {ambient: 35, units: miles}\n"
        "usual: {out by: levr}\n"
        "cables: {trunk: 46 of 2 x 2.5 mm², trunk: 3 m of x}\n"
        "doors:\n"
        "  D1: {lokc: strike, runs: {power: 3 of x, exit: 0,5 m of x}}\n"
        "  D2: {wiring: [[lock.+, lead, open]]}\n"
    )
    found = problems(text)
    assert [(p.line, p.code) for p in found] == [
        (2, "quantity.no-unit"),
        (2, "field.choice"),
        (3, "field.choice"),
        (4, "quantity.no-unit"),
        (4, "yaml.duplicate"),
        (6, "field.name"),
        (6, "quantity.no-unit"),
        (6, "trap.decimal-comma"),
        (7, "device.not-fitted"),
    ]


def test_a_problem_of_a_usual_value_is_told_once() -> None:
    text = "usual: {gap: 3, runs: {exit: 3 of x}}\ndoors: {D1: {}, D2: {}, D3: {}}\n"
    assert codes(text) == ["quantity.no-unit", "quantity.no-unit"]
    assert all(p.field.startswith("usual.") for p in problems(text))


def test_too_many_problems_end_the_reading() -> None:
    doors = "".join(f"  D{n}: {{lokc: x}}\n" for n in range(2 * MAX_PROBLEMS))
    found = problems(f"doors:\n{doors}")
    assert len(found) == MAX_PROBLEMS + 1
    assert found[0].code == "file.too-many"
    anchors = ", ".join(f"&a{n} x" for n in range(2 * MAX_PROBLEMS))
    assert codes(f"wiring: [{anchors}]\n").count("yaml.anchor") == MAX_PROBLEMS


def test_what_a_site_may_really_have_is_never_refused() -> None:
    text = (
        "supplies: {S1: supply 12 V, S2: supply 24 V}\n"
        "wiring:\n"
        "  - [S1.+, lead, S2.+]\n"
        "  - [S2.+, lead, S1.+]\n"
        "  - [S1.+, lead, S1.-]\n"
        "  - [open, lead, open]\n"
        "doors:\n"
        "  D1: {}\n"
        "  D2: {lock: magnet 24 V, supply: S1, runs: {power: 0 m of 2 x 1.0 mm²}}\n"
    )
    assert problems(text) == ()


def test_a_problem_prints_its_place_first() -> None:
    (problem,) = problems("site: {ambient: 35}\n")
    assert str(problem) == (
        "job.yaml:2:17: site.ambient: found 35, "
        "expected a temperature with its unit, such as -10 to 35 °C"
    )
    with pytest.raises(JobErrors) as caught:
        read_job_text(HEAD + "site: {ambient: 35}\n", "job.yaml")
    assert str(caught.value) == str(problem)


def test_nearest_names() -> None:
    assert nearest("Controler", ["controller", "contact"]) == "controller"
    assert nearest("xyz", ["controller"]) is None
    assert nearest("card", ["battery", "card or code"]) == "card or code"
    assert nearest("battery end", ["battery", "battery at its end"]) == "battery at its end"
    assert nearest("lost", ["mains lost", "all lost", "lot"]) == "lot"
    assert one_of("yard", ["D1", "D4"], {"Yard gate": "D4"}) == "a known name; the nearest is D4"
    assert one_of("xyz", []) == "a name that the file gives; it gives none of this kind"
    assert one_of("q", [f"D{n}" for n in range(99)]).endswith("D11 …")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("doors: {D1: {power: 30 m of 2 x 0.5 mm²}}", "runs: {power: 18 m of 2 x 1.0 mm²}"),
        ("standby: 4 h", "site: {standby: 4 h}"),
        ("doors: {D1: {pwer lost: unlocks}}", "the nearest is power lost"),
    ],
)
def test_a_name_one_step_too_far_out_is_told_where_it_belongs(text: str, expected: str) -> None:
    with pytest.raises(JobErrors) as caught:
        read_job_text(f"{HEAD}{text}\n", "job.yaml")
    assert expected in str(caught.value)
