"""Pages for those who use the doors: a guide a door, and the emergency card."""

from __future__ import annotations

from collections.abc import Sequence

from latchwork.answers.beyond import BEYOND
from latchwork.answers.schedules.model import DoorRow
from latchwork.job.names import EXIT_SLOTS
from latchwork.papers.content.drawings import front_of
from latchwork.papers.content.source import (
    Sheet,
    Source,
    by,
    door_title,
    leave_by,
    lines,
    out_by,
    words,
)
from latchwork.plan.places import out_of_reach
from latchwork.words import has, say

NOT_YET = ("danger", "insecure", "fails")
"""With a finding as bad as these a page is not to be handed out, worst first."""


def guides(source: Source) -> list[Sheet]:
    """A page for every door with anything electrical, for its users."""
    return [_guide(source, row) for row in source.schedules.doors if row.leave]


def _guide(source: Source, row: DoorRow) -> Sheet:
    release = source.release_frees(row.id)
    kind = "release" if release else "plain"
    # Nobody is told to leave every month by what has no way out, or none that is said.
    shut = out_by(row.leave) == out_by("nothing")
    unsaid = " unsaid" if shut or row.leave == BEYOND else ""
    parts = [
        ("in", _lines_for("enter", _entering(source, row), by(row.enter))),
        ("out", _leaving(source, row, release)),
        ("power", _power(source, row)),
        ("fire", _fire(source, row)),
        ("trouble", lines(f"guide.trouble.{kind}")),
        ("care", lines(f"guide.care.{kind}{unsaid}")),
    ]
    return {
        "kind": "guide",
        "title": words("sheet.guide", {"door": door_title(row)}),
        "about": words("about.guide", {"site": source.job_name}),
        "warning": _warning(row.worst, [row]),
        **front_of(source, row),
        "parts": [{"title": words(f"guide.{k}.title"), "lines": told} for k, told in parts],
        "blanks": [words(f"blank.{k}") for k in ("grants", "call", "visit")],
    }


def _warning(worst: str, rows: Sequence[DoorRow]) -> str:
    """What stands over a page that is not to be handed out yet, "" where it may be."""
    told = []
    if worst in NOT_YET:
        told.append(words("guide.not yet", {"worst": say(f"severity.{worst}")}))
    beyond = {row.id: row.beyond.text for row in rows if row.beyond}
    if beyond:
        told.append(words("guide.unsaid"))
        told += [f"{door}: {text}" for door, text in beyond.items()]
    return " ".join(told)


def _lines_for(part: str, key: str, told: str) -> list[str]:
    named = f"guide.{part}.{key}"
    return lines(named if has(f"papers.{named}") else f"guide.{part}.other", {"by": told})


def _entering(source: Source, row: DoorRow) -> str:
    """By what one enters, by the one kind of right that the door's reader or controller takes."""
    plan = source.index.plan
    devices = plan.doors[row.id].devices
    facts = [plan.devices[devices[s]].part.facts for s in ("reader", "controller") if s in devices]
    read = {str(f.get("credentials")) for f in facts if f.get("own_credential", True)}
    alone = f"{'+'.join(sorted(read))} alone"
    return alone if row.enter == "card" and has(f"papers.guide.enter.{alone}") else row.enter


def _device(source: Source, row: DoorRow, way: str) -> str:
    """The kind of what one asks to leave by, "" where a way is no such."""
    trials = source.schedules.trials.get(row.id, ())
    return next((t.device for t in trials if t.key == "exit" and t.which in ("", way)), "")


def _out_by(source: Source, row: DoorRow, way: str) -> str:
    """By what one leaves, as those who use the door call it."""
    exact = f"by.{way} {_device(source, row, way)}"
    return words(exact) if has(f"papers.{exact}") else leave_by(row, way)


def _leaving(source: Source, row: DoorRow, release: bool) -> list[str]:
    exact = f"{row.leave} {_device(source, row, row.leave)}"
    key = exact if has(f"papers.guide.leave.{exact}") else row.leave
    also = _also(source, row, "guide.leave.also")
    told = [*_lines_for("leave", key, _out_by(source, row, row.leave)), *also]
    key = "release by current" if _by_current(source, row) else "release"
    return [*told, *lines(f"guide.leave.{key}")] if release else told


def _by_current(source: Source, row: DoorRow) -> bool:
    """Whether current has to unlock a lock of the door, so that its release feeds it."""
    plan = source.index.plan
    fitted = (plan.devices[device].part.facts for device in plan.doors[row.id].devices.values())
    return any(f.get("energised") == "unlocks" or f.get("stays_put") is True for f in fitted)


def _also(source: Source, row: DoorRow, said: str) -> list[str]:
    """What frees the door as well as what one asks to leave by, as ``said`` has it, and those
    inside reach."""
    if row.leave not in EXIT_SLOTS:
        return []
    told = (row.leave, *out_of_reach(source.index.plan, row.id))
    kinds = [
        t.device
        for t in source.schedules.trials.get(row.id, ())
        if t.key == "exit" and t.which not in ("", *told) and t.state == "unlocked"
    ]
    return [
        words(f"{said} {kind}")
        for kind in dict.fromkeys(kinds)
        if kind != _device(source, row, row.leave) and has(f"papers.{said} {kind}")
    ]


def _power(source: Source, row: DoorRow) -> list[str]:
    supply = row.supply.partition(".")[0]
    battery = next((s.battery for s in source.schedules.supplies if s.id == supply), None)
    told = []
    if battery is not None:
        hours = int(battery.losses[0].hours)
        key = "battery" if hours > 1 else "battery short"
        told += lines(f"guide.power.{key}", {"hours": str(hours)})
    locked = "locked unsaid" if row.leave_power_lost == BEYOND else "locked"
    if out_by(row.leave_power_lost) == out_by("nothing"):
        locked = "stuck"
    key = "open" if row.open_power_lost else locked
    return told + lines(f"guide.power.{key}", {"leave": _out_by(source, row, row.leave_power_lost)})


def _fire(source: Source, row: DoorRow) -> list[str]:
    key = "open" if row.open_fire else "locked" if row.leave_fire == row.leave else "otherwise"
    if row.leave_fire == BEYOND:
        key = "open unsaid" if row.open_fire else "locked unsaid"
    elif not row.open_fire and out_by(row.leave_fire) == out_by("nothing"):
        key = "stuck"
    return lines(f"guide.fire.{key}", {"leave": _out_by(source, row, row.leave_fire)})


def _way_out(source: Source, row: DoorRow) -> str:
    """By what one leaves a door, wired or not."""
    if row.leave or row.out_by in ("lever", "panic bar"):
        return _out_by(source, row, row.leave or row.out_by)
    return words("emergency.nothing")


def emergency(source: Source) -> Sheet:
    """One page for whoever stands there when something is wrong."""
    doors = []
    for row in source.schedules.doors:
        frees = source.release_frees(row.id)
        last = words("emergency.release" if frees else "emergency.no release")
        doors.append(
            {
                "id": row.id,
                "name": row.name,
                "out": _way_out(source, row),
                "release": ", ".join([*_also(source, row, "emergency.also"), last]),
            }
        )
    worst = {row.worst for row in source.schedules.doors}
    released = any(source.release_frees(row.id) for row in source.schedules.doors)
    trapped = "lines" if released else "lines no release"
    heads = [say("schedules.column.door"), say("schedules.column.name")]
    heads += [words("emergency.out"), words("emergency.without")]
    return {
        "kind": "emergency",
        "title": words("sheet.emergency"),
        "about": source.job_name,
        "warning": _warning(next((s for s in NOT_YET if s in worst), ""), source.schedules.doors),
        "parts": [
            {"title": words(f"emergency.{k}.title"), "lines": lines(f"emergency.{k}.{which}")}
            for k, which in (("trapped", trapped), ("open", "lines"))
        ],
        "heads": heads,
        "doors": doors,
        "blanks": [words(f"blank.{k}") for k in ("call", "fire", "keys")],
    }
