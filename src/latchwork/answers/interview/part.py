"""The questions of one part: at a door, or shared by several."""

from __future__ import annotations

from latchwork.answers.interview.asking import Answers, Ask, Known
from latchwork.answers.interview.door import AT_THE_PANEL, length_guess, read_length
from latchwork.job import SLOTS
from latchwork.job.changes import Value
from latchwork.plan.fit import misfit

SHARED = "shared"
RUN_CORES = {
    "exit": 4, "second exit": 4, "release": 4, "reader": 6, "contact": 2, "latch contact": 2,
    "bell": 2, "bell button": 2, "radio": 4, "fire": 2,
}  # fmt: skip
"""Parts with a run of their own, and how many cores it has (common practice, no source)."""
LEG_OF = {"second exit": "exit", "latch contact": "contact", "bell button": "bell"}


def _doors(known: Known) -> list[str]:
    return list(known.job.doors) if known.job is not None else []


def _offers(known: Known, answers: Answers) -> list[str]:
    slot = answers.get("slot", "")
    specs = (known.catalogue.get(name) for name in known.catalogue.names())
    return [spec.name for spec in specs if slot in spec.slots][:9]


def _has_run(known: Known, answers: Answers) -> bool:
    del known
    return answers["at"] != SHARED and answers.get("slot") in RUN_CORES


def _read_any(known: Known, text: str) -> str:
    known.part(text, "")
    return text


def _wanted(known: Known, answers: Answers, name: str) -> str:
    """What a part that doors share would have to be for the slot it was said to be for."""
    slot = answers.get("slot", "")
    if answers["at"] != SHARED or not slot:
        return ""
    return misfit(slot, known.part(name, ""))


PART = (
    Ask(
        "at",
        default=lambda known, answers: (_doors(known) or [SHARED])[0],
        offers=lambda known, answers: [*_doors(known), SHARED],
        closed=True,
    ),
    Ask(
        "slot",
        needed=lambda known, answers: answers["at"] != SHARED,
        taken=lambda known, answers: True,
        offers=lambda known, answers: SLOTS,
        closed=True,
    ),
    Ask(
        "part",
        default=lambda known, answers: (_offers(known, answers) or [""])[0],
        offers=_offers,
        read=_read_any,
        wants=_wanted,
    ),
    Ask(
        "length",
        needed=_has_run,
        default=lambda known, answers: length_guess(known, 3),
        read=read_length,
    ),
    Ask(
        "place",
        needed=lambda known, answers: answers.get("slot") == "fire" and answers["at"] != SHARED,
        default=lambda known, answers: AT_THE_PANEL,
    ),
)
"""The questions of a part. Keys are the options of the command line too."""


def part_values(known: Known, answers: Answers, new_id: str) -> dict[str, Value]:
    """What is to be put where: path -> value."""
    if answers["at"] == SHARED:
        return {f"devices.{new_id}": answers["part"]}
    door, slot = f"doors.{answers['at']}", answers["slot"]
    part: Value = answers["part"]
    if "place" in answers:
        part = {"part": part, "place": answers["place"]}
    values: dict[str, Value] = {f"{door}.{slot}": part}
    if "length" in answers:
        size = "22 AWG" if known.us else "0.22 mm²"
        if slot in ("release", "bell", "fire"):
            size = "16 AWG" if known.us else "1.0 mm²"
        run = f"{answers['length']} of {RUN_CORES[slot]} x {size}"
        values[f"{door}.runs.{LEG_OF.get(slot, slot)}"] = run
    return values
