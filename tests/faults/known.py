"""Reads ``known.md``: jobs in their own words, then what single faults do."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

FILE = Path(__file__).parent / "known.md"


@dataclass(frozen=True)
class Known:
    """One row: in which section, the job, the fault, its effect ("" for nothing), where."""

    section: str
    job: str
    fault: str
    effect: str
    situation: str

    def __str__(self) -> str:
        return f"{self.section}: {self.fault}"


def known() -> list[Known]:
    """Every row."""
    rows: list[Known] = []
    section, job, inside = "", "", False
    for line in FILE.read_text(encoding="utf-8").splitlines():
        if line.startswith("## "):
            section, job = line[3:], ""
        elif line.startswith("```"):
            inside = not inside
        elif inside:
            job += f"{line}\n"
        elif line.startswith("| ") and not line.startswith("| fault"):
            fault, effect, situation = (cell.strip() for cell in line.strip("|").split("|"))
            rows.append(Known(section, job, fault, "" if effect == "-" else effect, situation))
    return rows


def jobs() -> dict[str, str]:
    """The job of each section."""
    return {row.section: row.job for row in known()}
