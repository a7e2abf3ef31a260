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
    kind = _as_measured(kind, run, length)
    resolver.provenance[f"{name}.length_m"] = Provenance(path, length.certainty, length.source)
    per_m = kind.ohm_per_m
    resolver.provenance[f"{name}.ohm_per_m"] = Provenance(
        path if run.figures else f"catalogue.{kind.name}", per_m.certainty, per_m.source
    )
    where = run.figures.get("temperature")
    return PlannedCable(name, door, leg, kind, length, figure(where) if where else None)


def figure(fact: Fact) -> Figure:
    """A fact of the file as a figure."""
    return Figure(fact.value, fact.low, fact.high, "as written in the job", fact.certainty)


def _as_measured(kind: CableType, run: Run, length: Figure) -> CableType:
    """The type with what the job says of this very cable.

    A loop is two cores end to end. A resistance that was measured over the whole length holds for
    the length as planned, whatever that is.
    """
    said = run.figures
    ohm = kind.ohm_per_m
    over_all = [
        (n, share) for n, share in (("loop resistance", 2), ("core resistance", 1)) if n in said
    ]
    if "resistance" in said:
        ohm = figure(said["resistance"])
    elif over_all and length.value > 0:
        name, cores = over_all[0]
        whole = figure(said[name])
        metres = cores * length.value
        ohm = replace(
            whole, value=whole.value / metres, low=whole.low / metres, high=whole.high / metres
        )
    limit = said.get("current limit")
    if ohm is kind.ohm_per_m and limit is None:
        return kind
    return replace(kind, ohm_per_m=ohm, limit_a=limit.value if limit else kind.limit_a)
