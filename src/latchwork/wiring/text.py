"""A door's rows in the form of the job file, to be pasted back and changed."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable

from latchwork.job.model import Joint, Run
from latchwork.wiring.model import WiredRow, Wiring

_PLAIN = re.compile(r"\w[\w .²×/-]*[\w²]")


def rows_text(wiring: Wiring, door_id: str) -> str:
    """The keys ``cables``, ``joints`` and ``wiring`` of a door, described whole.

    They are the rows as planned; what was found different stands under ``found`` and stays there.
    Reading them back gives the same conductors.
    """
    door = wiring.plan.doors[door_id].door
    rows = [row for row in wiring.planned_rows if row.door == door_id]
    cables = {**door.runs, **door.cables}
    lines = []
    if cables:
        lines += ["cables:", *(f"  {name}: {_run(run)}" for name, run in cables.items())]
    joints = {**dict.fromkeys(_implied(rows, door_id), Joint()), **door.joints}
    if joints:
        lines += ["joints:", *(f"  {name}: {_joint(joint)}" for name, joint in joints.items())]
    lines += ["wiring:", *_aligned([_row(row, door_id) for row in rows])]
    return "".join(f"    {line}\n" for line in lines)


def _implied(rows: Iterable[WiredRow], door: str) -> list[str]:
    """Joints the arrangement needed: they are the only ends with nothing behind their name."""
    ends = dict.fromkeys(end for row in rows for end in (row.start, row.end))
    own = [end.removeprefix(f"{door}.") for end in ends if end.startswith(f"{door}.")]
    return [name for name in own if "." not in name]


def _row(row: WiredRow, door: str) -> tuple[str, str, str]:
    cores = " + ".join(_core(core, door) for core in row.cores)
    return _short(row.start, door), cores or "lead", _short(row.end, door)


def _core(core: str, door: str) -> str:
    cable, _, name = _short(core, door).rpartition(".")
    return f"{cable} {name}"


def _short(name: str, door: str) -> str:
    return name.removeprefix(f"{door}.")


def _aligned(rows: list[tuple[str, str, str]]) -> list[str]:
    widths = [max((len(row[n]) for row in rows), default=0) + 1 for n in (0, 1)]
    return [
        f"  - [{start + ',':<{widths[0]}} {cores + ',':<{widths[1]}} {end}]"
        for start, cores, end in rows
    ]


def _run(run: Run) -> str:
    length = run.length_m.text if run.length_m is not None else "unknown"
    if not run.figures:
        return _scalar(f"{length} of {run.cable}")
    words = {"cable": run.cable, "length": length}
    words.update({name: fact.text for name, fact in run.figures.items()})
    return _table(words)


def _joint(joint: Joint) -> str:
    words = {"place": joint.place, "made": joint.made}
    words["resistance"] = joint.ohm.text if joint.ohm is not None else ""
    return _table({name: text for name, text in words.items() if text})


def _table(words: dict[str, str]) -> str:
    return "{" + ", ".join(f"{name}: {_scalar(text)}" for name, text in words.items()) + "}"


def _scalar(text: str) -> str:
    """The text plain where YAML lets it stand plain anywhere, else in quotes."""
    return text if _PLAIN.fullmatch(text) else json.dumps(text, ensure_ascii=False)
