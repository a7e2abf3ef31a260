"""Which screws a part has, and in which order."""

from __future__ import annotations

import pytest

from latchwork.parts import KINDS, catalogue

# Written by hand from the convention that wiring, drawings and lists rely on.
TERMINALS = {
    "strike 12 V fail-secure": "+ -",
    "strike 24 V fail-secure, monitored": "+ - MON1 MON2",
    "strike 12 V AC fail-secure": "A1 A2",
    "strike 12 V AC/DC fail-secure": "+ -",
    "magnet 24 V": "+ -",
    "magnet 24 V, bond sensor": "+ - MON1 MON2",
    "bolt 12 V fail-safe": "+ -",
    "motor lock 12 V": "+ - IN MON1 MON2",
    "controller": "+ - COM NO NC EXIT GND TAMPER CONTACT BELL1 BELL2",
    "keypad, outdoor": "+ - COM NO NC EXIT GND TAMPER CONTACT BELL1 BELL2",
    "controller, reader outside": "+ - COM NO NC EXIT GND CONTACT D0 D1 R+ R-",
    "controller, reader outside, tamper loop": (
        "+ - COM NO NC EXIT GND TAMPER CONTACT D0 D1 R+ R-"
    ),
    "controller, two doors": (
        "+ - COM NO NC EXIT COM2 NO2 NC2 EXIT2 GND CONTACT CONTACT2 D0 D1 D0_2 D1_2 R+ R-"
    ),
    "reader": "+ - D0 D1",
    "reader, tamper": "+ - D0 D1 TAMPER",
    "radio receiver": "+ - COM NO NC",
    "supply 24 V": "+ -",
    "supply 24 V, four outputs": "1 2 3 4 -",
    "timed supply 12 V": "+ - IN GND NO NC",
    "transformer 12 V AC": "A1 A2",
    "network port, class 3": "+ -",
    "battery 12 V 7 Ah": "+ -",
    "exit button": "COM NO NC",
    "exit button, closed at rest": "1 2",
    "exit sensor": "+ - COM NO NC",
    "key switch": "COM NO NC",
    "lever with switch": "COM NO NC",
    "panic bar with switch": "COM NO NC",
    "panic bar with two-pole switch": "COM1 NO1 NC1 COM2 NO2 NC2",
    "release": "COM NO NC",
    "release, double pole": "COM1 NO1 NC1 COM2 NO2 NC2",
    "fire relay": "COM NO NC",
    "fire relay, double pole": "COM1 NO1 NC1 COM2 NO2 NC2",
    "door contact": "1 2",
    "door contact, changeover": "COM NO NC",
    "latch contact": "1 2",
    "bell button": "1 2",
    "relay 12 V": "A1 A2 COM NO NC",
    "delay module 12 V": "+ - IN GND COM NO NC",
    "diode": "A K",
    "varistor": "1 2",
    "fuse 1 A": "1 2",
    "polymer fuse 1.1 A": "1 2",
    "bell 12 V": "+ -",
    "sounder 12 V": "+ -",
}


@pytest.mark.parametrize("name", TERMINALS)
def test_terminals_stand_in_order(name: str) -> None:
    part = catalogue().find(name).resolve()
    assert [terminal.name for terminal in part.terminals] == TERMINALS[name].split()


def test_every_kind_has_a_part_here_and_in_the_catalogue() -> None:
    shown = {catalogue().find(name).kind.name for name in TERMINALS}
    assert shown == set(KINDS)


def test_every_terminal_tells_what_it_is_for() -> None:
    for spec in catalogue().specs():
        assert all(terminal.does for terminal in spec.resolve().terminals), spec.name
