"""The tables of ``known.md`` fail where one contact, or one fault's place, is wrong on purpose."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from latchwork.behaviour.network import Network, Things, network
from latchwork.faults import Ask, engine, faults, prepare, tasks
from latchwork.faults.engine import Cell, Names, names
from latchwork.faults.looks import Run
from latchwork.faults.model import Edit
from tests.faults.known import Known, known
from tests.truth.solved import wired

Edits = tuple[Edit, ...]
SECTIONS = dict.fromkeys(row.section for row in known())
MAGNET, ALONE, ENERGISED, STRIKE, RATED, ONE_POLE, BAR, *_ = SECTIONS


def table(section: str) -> list[Known]:
    return [row for row in known() if row.section == section]


def wrong(section: str) -> list[str]:
    """Faults of a table that do something else than it says."""
    rows = table(section)
    only = frozenset(row.fault for row in rows)
    report = faults(wired(rows[0].job), ask=Ask(attacks=False, processes=1, only=only))
    found = {c.fault: (c.effect.value, c.situation) for c in report.consequences}
    return [r.fault for r in rows if found.get(r.fault, ("", "")) != (r.effect, r.situation)]


@pytest.mark.parametrize("section", SECTIONS)
def test_nothing_is_wrong_as_it_is(section: str) -> None:
    assert wrong(section) == []


@pytest.mark.parametrize(
    ("section", "contact"),
    [
        (MAGNET, "D1.controller.contact NC"),
        (MAGNET, "D1.exit.contact NO"),
        (MAGNET, "D1.release.contact NC1"),
        (MAGNET, "D1.release.contact NC2"),
        (MAGNET, "D1.fire.contact NO"),
        (MAGNET, "S1.contact battery"),
        (ALONE, "D1.controller.contact NC"),
        (ALONE, "D1.exit.contact NO"),
        (ENERGISED, "D1.controller.contact NO"),
        (STRIKE, "D1.controller.contact NO"),
        (RATED, "D1.controller.contact NO"),
        (RATED, "D1.fire.contact NO"),
        (ONE_POLE, "D1.release.contact NC"),
        (BAR, "D1.bar.contact NC"),
    ],
)
def test_one_contact_the_wrong_way_round(
    section: str, contact: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def turned(things: Things) -> Network:
        elements = tuple(replace(e, on=~e.on) if e.name == contact else e for e in things.elements)
        assert elements != things.elements
        return network(replace(things, elements=elements))

    monkeypatch.setattr(prepare, "network", turned)
    assert wrong(section) != []


@pytest.mark.parametrize("kind", ["ohm", "source volt", "flag"])
def test_all_places_of_a_kind_one_off(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def shifted(built: Network) -> Names:
        its = names(built)
        if kind == "flag":
            count = len(its.flags)
            return replace(its, flags={n: (k + 1) % count for n, k in its.flags.items()})
        row = its.rows[kind]
        return replace(
            its, rows={**its.rows, kind: {n: (k + 1) % len(row) for n, k in row.items()}}
        )

    monkeypatch.setattr(prepare, "names", shifted)
    assert wrong(MAGNET) != []


FAULTS = [
    (MAGNET, "D1.exit.white open"),
    (MAGNET, "D1.exit.white D1.exit.brown short"),
    (MAGNET, "D1.exit stuck at rest"),
    (MAGNET, "D1.controller contact NC welded"),
    (MAGNET, "D1.controller relay stuck on"),
    (MAGNET, "D1.reader.green open"),
    (MAGNET, "fire panel lost"),
    (ALONE, "D1.lock.brown to plus"),
    (STRIKE, "D1.diode diode reversed"),
    (STRIKE, "S1 battery dead"),
    (ONE_POLE, "D1.release contact NC welded"),
    (BAR, "D1.bar contact NC welded"),
]


ALIKE = {"D1.exit.white open", "D1.reader.green open"}
"""What the core beside does too: either core of the exit cable, or of the reader's, will do."""


def edits_of(section: str, fault: str) -> tuple[Edits, Edits]:
    """The edits of a fault, and of the next one listed of which the table tells something else."""
    told = {row.fault: (row.effect, row.situation) for row in table(section)}
    (item,) = prepare.prepare(wired(table(section)[0].job), wanted=lambda f: f.id in told)
    listed = item.cell.faults
    at = [f.id for f in listed].index(fault)
    round_ = [*listed[at:], *listed[:at]]
    other = next(f for f in round_ if told[f.id] != told[fault])
    return listed[at].edits, other.edits


@pytest.mark.parametrize(("section", "fault"), FAULTS)
def test_one_fault_in_the_column_of_another(
    section: str, fault: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The fault's edits take effect in the column of one that follows, and the other way about."""
    its, others = edits_of(section, fault)
    swapped = {its: others, others: its}
    seen: set[Edits] = set()

    def solve(
        cells: Sequence[Cell],
        which: Sequence[int],
        edits: Sequence[Edits],
        *rest: object,
    ) -> Run:
        seen.update(map(tuple, edits))
        mixed = [swapped.get(tuple(e), e) for e in edits]
        return engine.solve_edits(cells, which, mixed, *rest)  # type: ignore[arg-type]  # passed on

    monkeypatch.setattr(tasks, "solve_edits", solve)
    assert wrong(section) != []
    assert {its, others} <= seen


@pytest.mark.parametrize(("section", "fault"), [f for f in FAULTS if f[1] not in ALIKE])
def test_one_fault_on_the_branch_beside_its_own(
    section: str, fault: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    its, _ = edits_of(section, fault)

    def shifted(built: Network) -> Names:
        known_names = names(built)
        rows = {kind: dict(row) for kind, row in known_names.rows.items()}
        flags = dict(known_names.flags)
        for edit in its:
            row = flags if edit.what == "flag" else rows[edit.what]
            row[edit.name] = (row[edit.name] + 1) % len(row)
        return replace(known_names, rows=rows, flags=flags)

    monkeypatch.setattr(prepare, "names", shifted)
    assert fault in wrong(section)
