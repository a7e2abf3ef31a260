"""The general circuit simulator ngspice, run on many small decks in one process."""

from __future__ import annotations

import subprocess
from collections.abc import Mapping, Sequence
from pathlib import Path

OPTIONS = (
    ".options reltol=1e-6 abstol=1e-12 vntol=1e-8 itl1=1000 gmin=1e-15 rshunt=1e10"
    " temp=26.85 tnom=26.85"
)
"""Tight tolerances; 26.85 °C is 300 K; the shunt keeps floating nodes from making the matrix
singular and moves no node of less than a megohm by more than a tenth of a millivolt."""
IN_TIME = ".options reltol=1e-4 abstol=1e-9 vntol=1e-6 gmin=1e-15 rshunt=1e10"
"""Through time: tighter, and its steps at a contact that closes would become too small."""
STEPS = 1000
"""The least points of time asked for."""
AT_A_TIME = 100
Deck = Sequence[str]
"""The elements of one circuit, one a line; node 0 is the reference."""


def operating_points(decks: Sequence[Deck], folder: Path) -> list[Mapping[str, float] | None]:
    """Volts by node name of each deck; None where ngspice finds no operating point."""
    results: list[Mapping[str, float] | None] = []
    for at in range(0, len(decks), AT_A_TIME):
        part = [[*deck, OPTIONS] for deck in decks[at : at + AT_A_TIME]]
        _run(part, ["op"] * len(part), folder)
        for n in range(len(part)):
            vectors = _raw(folder / f"{n}.raw")
            results.append(None if vectors is None else {k: v[-1] for k, v in vectors.items()})
    return results


def transients(
    decks: Sequence[Deck], ends_s: Sequence[float], folder: Path
) -> list[Mapping[str, Sequence[float]] | None]:
    """Each deck from rest to its end in seconds: values by vector name, "time" among them; None
    where ngspice does not get through."""
    lines = [[*deck, IN_TIME] for deck in decks]
    _run(lines, [f"tran {end_s / STEPS} {end_s} uic" for end_s in ends_s], folder)
    results: list[Mapping[str, Sequence[float]] | None] = []
    for n, end_s in enumerate(ends_s):
        vectors = _raw(folder / f"{n}.raw")
        through = vectors is not None and vectors["time"][-1] > 0.999 * end_s
        results.append(vectors if through else None)
    return results


def _run(decks: Sequence[Deck], analyses: Sequence[str], folder: Path) -> None:
    main = ["many", ".control", "set filetype=ascii", "set numdgt=15"]
    for n, (deck, analysis) in enumerate(zip(decks, analyses, strict=True)):
        (folder / f"{n}.raw").unlink(missing_ok=True)
        (folder / f"{n}.cir").write_text("\n".join(["one", *deck, ".end", ""]))
        main += [f"source {n}.cir", analysis, f"write {n}.raw all", "destroy all", "remcirc"]
    (folder / "many.cir").write_text("\n".join([*main, ".endc", ".end", ""]))
    # Its exit code tells nothing: a circuit without an answer leaves no file.
    subprocess.run(
        ["ngspice", "-b", "-n", "many.cir"],
        cwd=folder,
        check=False,
        capture_output=True,
        timeout=600,
    )


def _raw(path: Path) -> dict[str, list[float]] | None:
    if not path.exists():
        return None
    head, _, body = path.read_text().partition("Values:\n")
    names = [
        line.split()[1].removeprefix("v(").removesuffix(")")
        for line in head.partition("Variables:\n")[2].splitlines()
    ]
    numbers = [float(line.split()[-1]) for line in body.splitlines() if line.strip()]
    return {name: numbers[n :: len(names)] for n, name in enumerate(names)}
