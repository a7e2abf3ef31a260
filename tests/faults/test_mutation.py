"""The tables of ``known.md`` fail where one contact or one fault's place is wrong on purpose."""

from __future__ import annotations

from dataclasses import replace

import pytest

from latchwork.behaviour.network import Network, Things, network
from latchwork.faults import Ask, faults, prepare
from latchwork.faults.engine import Names, names
from tests.faults.known import known
from tests.truth.solved import wired

FIRST = [row for row in known() if row.section == known()[0].section]


def wrong() -> list[str]:
    """Faults of the first table that do something else than it says."""
    report = faults(wired(FIRST[0].job), ask=Ask(attacks=False, processes=1))
    found = {c.fault: (c.effect.value, c.situation) for c in report.consequences}
    return [r.fault for r in FIRST if found.get(r.fault, ("", "")) != (r.effect, r.situation)]


def test_nothing_is_wrong_as_it_is() -> None:
    assert wrong() == []


@pytest.mark.parametrize(
    "contact",
    [
        "D1.controller.contact NC",
        "D1.exit.contact NO",
        "D1.release.contact NC1",
        "D1.fire.contact NO",
    ],
)
def test_one_contact_the_wrong_way_round(contact: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def turned(things: Things) -> Network:
        elements = tuple(replace(e, on=~e.on) if e.name == contact else e for e in things.elements)
        assert elements != things.elements
        return network(replace(things, elements=elements))

    monkeypatch.setattr(prepare, "network", turned)
    assert wrong() != []


@pytest.mark.parametrize("kind", ["ohm", "source volt", "flag"])
def test_one_place_off(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
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
    assert wrong() != []
