"""Runs and cables become cables with a type, a length and a resistance."""

from __future__ import annotations

from dataclasses import replace

from latchwork.elements import Certainty, Figure
from latchwork.job.model import Fact, Run
from latchwork.parts.model import CableType
from latchwork.parts.problems import PartNotFound
from latchwork.plan.model import PlannedCable, Provenance
from latchwork.plan.resolve import Resolver

LENGTH_UNKNOWN = Figure(
    20.0, 5.0, 50.0, "assumed until it is measured; common practice, no source", Certainty.UNKNOWN
)
"""Metres of a run whose length nobody knows yet."""


def plan_cable(
    resolver: Resolver, name: str, door: str, leg: str, run: Run, path: str
) -> PlannedCable | None:
    """The cable, or None with its problem noted at ``path``."""
    try:
        kind = resolver.catalogue.cable(run.cable)
    except PartNotFound as missing:
        near = " or ".join(missing.nearest) or "a cable such as 2 x 1.0 mm²"
        resolver.complain(path, run.cable, near, "cable.unknown")
        return None
    length = figure(run.length_m) if run.length_m is not None else LENGTH_UNKNOWN
    whole = _whole(run)
    kind = _as_said(kind, run, length, whole)
    resolver.provenance[f"{name}.length_m"] = Provenance(path, length.certainty, length.source)
    per_m = kind.ohm_per_m
    resolver.provenance[f"{name}.ohm_per_m"] = Provenance(
        path if run.figures else f"catalogue.{kind.name}", per_m.certainty, per_m.source
    )
    where = run.figures.get("temperature")
    temperature_c = figure(where) if where else None
    return PlannedCable(name, door, leg, kind, length, temperature_c, whole)


def figure(fact: Fact) -> Figure:
    """A fact of the file as a figure."""
    return Figure(fact.value, fact.low, fact.high, "as written in the job", fact.certainty)


def _whole(run: Run) -> Figure | None:
    """What a core has over the whole length, where the job says it: a loop is two cores end to
    end. Beside a resistance per metre it stands where it was measured, joints and all."""
    for word, cores in (("loop resistance", 2), ("core resistance", 1)):
        fact = run.figures.get(word)
        measured = fact is not None and fact.certainty is Certainty.MEASURED
        if fact is not None and (measured or "resistance" not in run.figures):
            ohm = figure(fact)
            return replace(ohm, value=ohm.value / cores, low=ohm.low / cores, high=ohm.high / cores)
    return None


def _as_said(kind: CableType, run: Run, length: Figure, whole: Figure | None) -> CableType:
    """The type with what the job says of this very cable."""
    said = run.figures
    ohm = kind.ohm_per_m
    if whole is None and "resistance" in said:
        ohm = figure(said["resistance"])
    elif whole is not None and length.value > 0:
        metres = length.value
        ohm = replace(
            whole, value=whole.value / metres, low=whole.low / metres, high=whole.high / metres
        )
    limit = said.get("current limit")
    if ohm is kind.ohm_per_m and limit is None:
        return kind
    return replace(kind, ohm_per_m=ohm, limit_a=limit.value if limit else kind.limit_a)
