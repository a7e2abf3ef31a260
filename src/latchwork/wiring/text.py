"""A door's rows in the form of the job file, to be pasted back and changed."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable

from latchwork.job.model import Joint, Run
from latchwork.wiring.model import WiredRow, Wiring

_PLAIN = re.compile(r"\w[\w .²×/-]*[\w²]")


def rows_text(wiring: Wiring, door_id: str) -> str:
    """The keys ``wiring`` and, where the rows need more joints, ``joints`` of a door.

    They describe the door whole, as planned: what was found different stands under ``found`` and
    stays there, as do runs and cables, which are printed as a remark. Reading the keys back in
    the place of the old ones gives the same conductors.
    """
    door = wiring.plan.doors[door_id].door
    rows = [row for row in wiring.planned_rows if row.door == door_id]
    cables = {**door.runs, **door.cables}
    lines = [f"# {name}: {_run(run)}" for name, run in cables.items()]
    joints = {**dict.fromkeys(_implied(rows, door_id), Joint()), **door.joints}
    if joints.keys() - door.joints.keys():
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
    said = "".join(f", {name} {fact.text}" for name, fact in run.figures.items())
    return f"{length} of {run.cable}{said}"


def _joint(joint: Joint) -> str:
    words = {"place": joint.place, "made": joint.made}
    words["resistance"] = joint.ohm.text if joint.ohm is not None else ""
    return "{" + ", ".join(f"{word}: {_scalar(text)}" for word, text in words.items() if text) + "}"


def _scalar(text: str) -> str:
    """The text plain where YAML lets it stand plain anywhere, else in quotes."""
    return text if _PLAIN.fullmatch(text) else json.dumps(text, ensure_ascii=False)
