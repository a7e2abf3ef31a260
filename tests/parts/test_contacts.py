"""Contacts by what moves them: truth tables written by hand from trade knowledge."""

from __future__ import annotations

import pytest

from latchwork.parts import catalogue
from tests.parts.deciding import closed, settled

# part, what is so, the contacts that are then closed
TRUTH = [
    ("exit button", {}, {"NC"}),
    ("exit button", {"pressed": True}, {"NO"}),
    ("exit button, open at rest", {}, set()),
    ("exit button, open at rest", {"pressed": True}, {"contact"}),
    ("exit button, closed at rest", {}, {"contact"}),
    ("exit button, closed at rest", {"pressed": True}, set()),
    ("panic bar with two-pole switch", {}, {"NC1", "NC2"}),
    ("panic bar with two-pole switch", {"pushed": True}, {"NO1", "NO2"}),
    ("lever with switch", {"pushed": True}, {"NO"}),
    ("release, double pole", {}, {"NC1", "NC2"}),
    ("release, double pole", {"pulled": True}, {"NO1", "NO2"}),
    # Held energised in normal: NO is closed while the panel is well.
    ("fire relay", {}, {"NO"}),
    ("fire relay", {"site_fire_alarm": True}, {"NC"}),
    ("fire relay", {"site_panel_lost": True}, {"NC"}),
    # Energised on alarm only: a lost panel tells nothing.
    ("fire relay, not held", {}, {"NC"}),
    ("fire relay, not held", {"site_fire_alarm": True}, {"NO"}),
    ("fire relay, not held", {"site_panel_lost": True}, {"NC"}),
    ("fire relay, not held", {"site_fire_alarm": True, "site_panel_lost": True}, {"NC"}),
    ("door contact", {}, {"contact"}),
    ("door contact", {"door_open": True}, set()),
    ("door contact, open when shut", {}, set()),
    ("latch contact", {"door_latch_out": True}, {"contact"}),
    ("latch contact", {"door_latch_out": False}, set()),
    ("exit sensor", {"powered": True}, {"NC"}),
    ("exit sensor", {"powered": True, "triggered": True}, {"NO"}),
    ("exit sensor", {"triggered": True}, {"NC"}),
    ("exit sensor, energised when idle", {"powered": True}, {"NO"}),
    ("exit sensor, energised when idle", {"powered": True, "triggered": True}, {"NC"}),
    ("exit sensor, energised when idle", {}, {"NC"}),
    ("relay 12 V", {}, {"NC"}),
    ("relay 12 V", {"coil_up": True}, {"NO"}),
    ("radio receiver", {"powered": True, "radio_sent": True}, {"NO"}),
    ("radio receiver", {"radio_sent": True}, {"NC"}),
    ("reader", {"powered": True, "credential": True}, {"D1"}),
    ("reader", {"powered": True}, set()),
    ("reader, tamper", {"case_open": True}, set()),
    ("reader, tamper", {}, {"TAMPER"}),
    ("delay module 12 V", {"powered": True, "IN_high": True}, {"NC"}),
    ("delay module 12 V", {"powered": True}, {"NO"}),
    ("timed supply 12 V", {"powered": True, "IN_high": True}, {"NC"}),
    ("timed supply 12 V", {"powered": True}, {"NO"}),
    ("magnet 12 V, bond sensor", {"energised": True}, {"MON"}),
    ("magnet 12 V, bond sensor", {"energised": True, "door_open": True}, set()),
    ("strike 12 V fail-secure, monitored", {}, {"MON"}),
    ("strike 12 V fail-secure, monitored", {"energised": True}, set()),
    ("strike 24 V fail-safe, monitored", {"energised": True}, {"MON"}),
]


@pytest.mark.parametrize(("name", "so", "shut"), TRUTH)
def test_closed_contacts(name: str, so: dict[str, bool], shut: set[str]) -> None:
    part = catalogue().find(name).resolve()
    assert closed(part, settled(part, **so)) == shut


def test_a_reader_sends_zeros_and_then_ones() -> None:
    """A frame is pulses on one of two lines, never on both (SIA AC-01): D0 first, here."""
    part = catalogue().find("reader").resolve()
    assert closed(part, {"sends": True}) == {"D0"}
    assert closed(part, {"sends": True, "ones": True}) == {"D1"}


def test_at_rest_agrees_with_how_it_is_drawn() -> None:
    from latchwork.elements import Contact

    for spec in catalogue().specs():
        if spec.kind.name in (
            "door contact",
            "latch contact",
            "fire relay",
            "supply",
            "timed supply",
        ):
            continue
        part = spec.resolve()
        rest = closed(part, settled(part))
        for element in part.elements:
            if isinstance(element, Contact):
                name = element.name.removeprefix("contact ")
                assert (element.at_rest == "closed") == (name in rest), (spec.name, name)
