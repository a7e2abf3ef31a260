"""The sheet inside a supply's lid names every lock that its fuses do not part from it."""

from __future__ import annotations

from pathlib import Path
from typing import cast

from latchwork.papers.content.power import lid_sheets, power_sheets
from latchwork.papers.source import source_of
from tests.cli.calling import job_in

JOB = """
latchwork: 1
site: {name: Quillet Yard}
supplies:
  S1:
    part: supply 24 V
    limit: 5 A
    outputs: {1: {fuse: 2.0 A}, 2: {fuse: 2.0 A}}
devices: {F1: fire relay}
usual:
  out by: nothing mechanical
  power lost: unlocks
  fire alarm: unlocks
  lock: magnet 24 V
  controller: controller
  exit: button
  release: release, double pole
  fire: FIRE
  runs: {power: 8 m of 3 x 1.5 mm²}
doors:
  D1: {name: North, supply: S1 out 1}
  D2: {name: South, supply: S1 out 2}
"""


def outputs(folder: Path, fire: str) -> dict[str, str]:
    folder.mkdir()
    (folder / "job.yaml").write_text(JOB.replace("FIRE", fire), encoding="utf-8")
    (lid,) = lid_sheets(source_of(folder)[0])
    rows = cast("list[dict[str, str]]", lid["outputs"])
    return {row["output"]: row["feeds"] for row in rows}


def test_a_lock_on_another_fuse_is_named_there(tmp_path: Path) -> None:
    shared = outputs(tmp_path / "shared", "F1")
    assert "D1" in shared["S1.1"]
    assert "D2.lock" in shared["S1.1"]
    own = outputs(tmp_path / "own", "fire relay")
    assert "D2.lock" not in own["S1.1"]


def test_the_lid_says_every_fuse(tmp_path: Path) -> None:
    """By hand: outputs of their own have 1 A each (the part's "output fuse"), one was written
    over, one has none. Those the supply comes with were a dash, and none was 1e+06 A."""
    text = JOB.replace("FIRE", "fire relay").replace("supply 24 V\n", "supply 24 V, four outputs\n")
    for given, fuses in (
        ("    battery: 2 x 12 V 7 Ah\n", ["1 A", "1 A", "1 A", "1 A"]),
        ("    outputs: {1: {fuse: 2.0 A}, 2: {fuse: none}}\n", ["2 A", "–"]),
    ):
        lines = [line for line in text.splitlines(True) if "outputs:" not in line]
        at = next(n for n, line in enumerate(lines) if "limit" in line)
        job = job_in(tmp_path, "".join([*lines[:at], given, *lines[at:]]))
        (lid,) = lid_sheets(source_of(job)[0])
        rows = cast("list[dict[str, str]]", lid["outputs"])
        assert [row["fuse"] for row in rows] == fuses
        battery = cast("list[list[str]]", lid["battery"])[0][1]
        assert battery == ("2 × 7 Ah" if "battery" in given else "No battery."), (
            "as its label has it"
        )


def test_a_waiver_runs_out_on_its_day(tmp_path: Path) -> None:
    folder = tmp_path / "waived"
    folder.mkdir()
    job = JOB.replace("FIRE", "fire relay").replace("site: {name: Quillet Yard}", "SITE")
    (folder / "job.yaml").write_text(job.replace("SITE", "site: {name: Y, standby: 4 h}"))
    found = {f.rule: f.id for f in source_of(folder)[0].check.findings}
    site = (
        "site: {name: Y, standby: 4 h, waivers: [{finding: "
        f'{found["no-battery"]}, by: Ida Fenn, date: "2026-01-05", '
        'reason: "a till with its own", until: "2026-06-30"}]}'
    )
    (folder / "job.yaml").write_text(job.replace("SITE", site))

    def told(on: str) -> dict[str, str]:
        return {f.rule: f.severity for f in source_of(folder, on=on)[0].check.findings}

    assert told("2026-06-30")["no-battery"] == "note"
    assert told("2026-07-01")["no-battery"] == "weak"
    assert "waiver-over" in told("2026-07-01")


BESIDE = """
latchwork: 1
site: {name: Quillet Yard}
supplies:
  S1: {part: supply 12 V, battery: 1 x 12 V 7 Ah}
  S2: {part: supply 12 V, battery: 1 x 12 V 7 Ah}
  S3: {part: supply 12 V, battery: 1 x 12 V 7 Ah}
doors:
  D1:
    name: Store
    supply: S1
    lock: {part: magnet 12 V, supply: S2}
    out by: nothing mechanical
    power lost: unlocks
    controller: controller, reader outside
    reader: reader
    release: release, double pole
    exit: exit button
"""
"""A magnet on a supply that its door does not name, and a supply with nothing on it."""


def test_a_supply_that_no_door_names_tells_what_hangs_on_it(tmp_path: Path) -> None:
    source, _ = source_of(job_in(tmp_path / "job", BESIDE))
    lids = [cast("list[dict[str, str]]", lid["outputs"]) for lid in lid_sheets(source)]
    feeds = [" ".join(first["feeds"].split()) for first, *_ in lids]
    assert feeds == ["D1 Store", "D1 Store", "–"]
    batteries = [sheet["no_battery"] for sheet in power_sheets(source)]
    assert batteries[2] == "A battery is fitted; its hours are not worked out."


JOINED = """
latchwork: 1
supplies: {S1: {part: supply 24 V}, S2: {part: supply 24 V}, S3: {part: supply 24 V}}
cables: {link: 30 m of 2 x 1.0 mm²}
wiring: [[S1.-, lead, S2.-], [S2.-, link blue, S3.-]]
usual: {lock: strike 24 V fail-secure, controller: controller, controller at: door}
doors:
  D1: {supply: S1, runs: {power: 8 m of 2 x 1.0 mm²}}
  D2: {supply: S2, runs: {power: 8 m of 2 x 1.0 mm²}}
  D3: {supply: S3, runs: {power: 8 m of 2 x 1.0 mm²}}
"""
"""Three supplies whose 0 V are joined, by a lead and by a core of 30 m."""


def test_a_meter_is_put_on_the_screws_of_the_supply_whose_sheet_it_is(tmp_path: Path) -> None:
    """The other supplies may hang in another room (common practice, no source)."""
    source, _ = source_of(job_in(tmp_path / "job", JOINED))
    for supply, lid in zip(("S1", "S2", "S3"), lid_sheets(source), strict=True):
        what = [row["what"] for row in cast("list[dict[str, str]]", lid["readings"])]
        volts = [text for text in what if " to " in text]
        assert {text.partition(",")[0] for text in volts} == {f"{supply}.+ to {supply}.-"}
    for door in source.schedules.readings:
        assert {t.against for t in door.terminals} == {f"S{door.door[1:]}.-"}


CHAINED = """
latchwork: 1
supplies:
  S1: {part: "supply 24 V, four outputs"}
  S2: {part: "supply 24 V, no battery"}
cables: {trunk: 20 m of 2 x 2.5 mm², link: 9 m of 2 x 2.5 mm²}
taps: {K1: {on: trunk, at: 8 m}}
wiring:
  - [S1.1, trunk brown, open]
  - [S1.-, trunk blue, open]
  - [S1.2, link brown, S2.+]
  - [S1.-, link blue, S2.-]
usual: {lock: strike 24 V fail-secure, controller: controller, controller at: door}
doors:
  D1: {wiring: {power: [[K1.brown, lead, controller.+], [K1.blue, lead, controller.-]]}}
  D2: {supply: S2, runs: {power: 8 m of 2 x 1.0 mm²}}
  D3: {supply: S1 out 3, runs: {power: 8 m of 2 x 1.0 mm²}}
"""


def test_an_output_feeds_what_its_cores_lead_to(tmp_path: Path) -> None:
    """By hand: a trunk with a door at its tap on the first, another supply with its door on the
    second, which has it live from either. Both stood as free, and whoever pulls such a fuse takes a
    door with it."""
    source, _ = source_of(job_in(tmp_path / "job", CHAINED))
    lids = lid_sheets(source)
    first, second = (cast("list[dict[str, str]]", lid["outputs"]) for lid in lids)
    feeds = [(row["output"], row["feeds"]) for row in (*first, *second)]
    assert feeds == [
        ("S1.1", "D1"), ("S1.2", "D2, S2"), ("S1.3", "D3"), ("S1.4", "–"), ("S2.+", "D2, S1"),
    ]  # fmt: skip
    # Off by itself neither is dead, and that is what the steps are for.
    for lid, other in zip(lids, ("S2", "S1"), strict=True):
        steps = cast("list[str]", lid["order"])
        off = next(n for n, step in enumerate(steps) if step.startswith("Mains off"))
        assert steps[off + 1].startswith(f"Its screws are still live from {other}: ")


def test_a_supply_by_itself_is_dead_once_it_is_off(tmp_path: Path) -> None:
    """By the 0 V alone nothing feeds back."""
    for lid in lid_sheets(source_of(job_in(tmp_path / "job", JOINED))[0]):
        assert not [step for step in cast("list[str]", lid["order"]) if "still live" in step]


def test_a_meter_at_a_lock_of_the_site_is_put_on_the_supply_that_feeds_it(tmp_path: Path) -> None:
    """As above; the lock belongs to no one door."""
    lines = "\ndevices: {L1: {part: strike 24 V fail-secure, supply: S1}}\n"
    text = JOINED.replace("D3: {supply: S3,", "D3: {supply: S3, lock: L1,") + lines
    source, _ = source_of(job_in(tmp_path / "job", text))
    at = {t.terminal: t.against for door in source.schedules.readings for t in door.terminals}
    assert (at["L1.+"], at["L1.-"]) == ("S1.-", "S1.-")
