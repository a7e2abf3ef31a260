"""The lines that a door's answers make."""

from __future__ import annotations

from collections.abc import Mapping

from latchwork.answers.interview.asking import Answers, Known
from latchwork.answers.interview.door import (
    ENTRIES,
    NONE,
    current_locks,
    length_guess,
    lock_of,
    own_fire,
)
from latchwork.job import Job
from latchwork.job.changes import Value

OWN = ("name", "supply", "runs", "fire rating")
"""What belongs to one door and is never usual."""


def door_value(known: Known, answers: Answers, supply: str = "") -> dict[str, Value]:
    """A door as it is written, with all that its answers say."""
    lock = lock_of(known, answers)
    strong = current_locks(lock)
    door: dict[str, Value] = {
        "name": answers["name"],
        "outside": answers["outside"],
        "fire rating": answers.get("fire-rating", NONE),
        "power lost": answers["power-lost"],
        "fire alarm": answers["fire-alarm"],
        "out by": answers["out-by"],
        "lock": answers["lock"],
    }
    if door["fire rating"] == NONE:
        del door["fire rating"]
    if "entry" in answers:
        door |= ENTRIES[answers["entry"]]
    elif "reader" in known.usual:
        door["reader"] = known.usual["reader"]
    for slot in ("exit", "release", "fire", "bar"):
        door[slot] = answers.get(slot, NONE)
    if "fire-place" in answers:
        door["fire"] = {"part": answers["fire"], "place": answers["fire-place"]}
    needs = lock.facts.get("suppression") == "needed" and lock.facts.get("current_kind") == "dc"
    door["diode"] = "diode" if needs else NONE
    door["supply"] = answers.get("supply") or supply
    door["runs"] = _runs(known, answers, door, strong)
    return {key: value for key, value in door.items() if value != NONE}


def _runs(
    known: Known, answers: Answers, door: Mapping[str, Value], strong: bool
) -> dict[str, Value]:
    """Runs with lengths as told; what leads to a device by the door is a few metres, a guess.

    A fire contact of the door's own has a cable there and back for each pole; one that doors share
    beside their supply sends the lock's feed on along a third core.
    """
    near, size = length_guess(known, 3), _size(known, strong)
    own = own_fire(known, answers)
    shared = door.get("fire", NONE) != NONE and not own
    runs: dict[str, Value] = {"power": f"{answers['length']} of {3 if shared else 2} x {size}"}
    if own:
        poles = int(known.part(answers["fire"], "fire").facts.get("poles", 1))
        runs["fire"] = f"{answers['fire-length']} of {2 * poles} x {size}"
    near_runs = {"exit": 4, "release": 4, "reader": 6}
    for slot, cores in near_runs.items():
        if door.get(slot, NONE) != NONE:
            thin = "22 AWG" if known.us else "0.22 mm²"
            runs[slot] = f"{near} of {cores} x {size if slot == 'release' else thin}"
    return runs


def _size(known: Known, strong: bool) -> str:
    """Cores that are ordinary for what hangs on them (common practice, no source)."""
    if known.us:
        return "14 AWG" if strong else "16 AWG"
    return "1.5 mm²" if strong else "1.0 mm²"


def lean(door: Mapping[str, Value], usual: Mapping[str, Value]) -> dict[str, Value]:
    """A door with what is usual left out, and "none" for usual devices that it has not."""
    out: dict[str, Value] = {}
    for key, value in door.items():
        there = usual.get(key)
        if key == "runs" and isinstance(value, Mapping):
            base = there if isinstance(there, Mapping) else {}
            runs = {leg: run for leg, run in value.items() if base.get(leg) != run}
            runs |= {leg: NONE for leg in base if leg not in value}
            if runs:
                out[key] = runs
        elif value != there:
            out[key] = value
    for key in ("exit", "release", "fire", "bar", "diode", "reader"):
        if key in usual and key not in door:
            out[key] = NONE
    return out


def usual_of(door: Mapping[str, Value]) -> dict[str, Value]:
    """What other doors can take over from the first one."""
    usual = {key: value for key, value in door.items() if key not in OWN}
    runs = door.get("runs")
    if isinstance(runs, Mapping):
        near = {leg: run for leg, run in runs.items() if leg not in ("power", "fire")}
        if near:
            usual["runs"] = near
    return usual


def usual_texts(known: Known, said: Mapping[str, Answers]) -> dict[str, str]:
    """What is usual once the first of ``said`` doors is described."""
    if not said:
        return {}
    usual = usual_of(door_value(known, next(iter(said.values()))))
    return {key: value for key, value in usual.items() if isinstance(value, str)}


def like(
    answers: Answers, other: Mapping[str, Value], usual: Mapping[str, Value], supply: str = ""
) -> dict[str, Value]:
    """A door like another one: its own lines, with the new name, supply and length."""
    taken = ("found", "wiring", "cables", "joints", "waivers", "note")
    door = {key: value for key, value in other.items() if key not in taken}
    runs = door.get("runs")
    own: dict[str, Value] = dict(runs) if isinstance(runs, Mapping) else {}
    usual_runs = usual.get("runs")
    merged = {**(usual_runs if isinstance(usual_runs, Mapping) else {}), **own}
    for leg in ("power", "lock"):
        text = merged.get(leg)
        if isinstance(text, str) and " of " in text:
            own[leg] = f"{answers['length']} of {text.partition(' of ')[2]}"
            break
    door |= {"name": answers["name"], "supply": answers.get("supply") or supply}
    if own:
        door["runs"] = own
    return {key: value for key, value in door.items() if value}


def free_id(job: Job | None, prefix: str, taken: Mapping[str, object] | None = None) -> str:
    """The first id of a kind that nothing has: D4."""
    used = set(taken or ())
    if job is not None:
        for section in (job.doors, job.supplies, job.devices, job.cables, job.taps, job.joints):
            used |= set(section)
    number = 1
    while f"{prefix}{number}" in used:
        number += 1
    return f"{prefix}{number}"
