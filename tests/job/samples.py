"""Job files to read, and short ways to read them. The site is invented."""

from __future__ import annotations

from latchwork.job import Door, Job, JobErrors, Problem, read_job_text

EVERYTHING = """\
latchwork: 1
site:
  name: Millpond pottery
  reference: 2026-014
  mains: 120 V 60 Hz
  ambient: 14 to 100 °F
  standby: 24 h
  rule set: US model codes
  time zone: America/Chicago
  units: us
  language: en
  users: 25
  grants an hour: 40
  installer code changed: yes
  authority: the county fire officer
  edition: 2021
  waivers:
    - {finding: F3A90C, reason: Porter on duty., by: the site manager, date: 2026-02-11}

usual:
  power lost: stays locked
  fire alarm: unlocks
  out by: panic bar
  lock: {part: strike 24 V fail-secure, resistance: 96 ohm}
  controller: controller, reader outside
  reader: reader
  fire: F1
  runs: {reader: 2 m of 6 x 0.22 mm2, exit: 10 ft of 4 x 22 AWG}

supplies:
  S1:
    part: supply 24 V
    limit: 5.0 A
    folds back to: 500 mA
    returns by itself: no
    battery: {blocks: 2 x 12 V 17 Ah, age: 3 years}
    outputs: {1: {fuse: 1.0 A}, 2: {polymer fuse: 1.1 A, resistance: 0.1 ohm}, 3: {fuse: none}}
    place: plant room
  S2: transformer 12 V

devices:
  F1: fire relay
  C1: {part: "controller, two doors", supply: S1 out 2, relay time: 7 s}

cables:
  trunk: about 46 m of 2 x 2.5 mm²
taps:
  K1: {on: trunk, at: 21 m from S1, place: over the side door}
joints:
  J9: {place: riser, made: crimp, resistance: measured 0.02 ohm}
wiring:
  - [S1.1, trunk brown, open]
  - [S1.-, trunk blue, J9]
found:
  - {break: trunk brown, at: about 30 m}

doors:
  D1:
    name: Kiln room
    supply: S1 out 1
    runs: {power: unknown of 2 x 1.0 mm²}
    fire rating: 30 min
  D2:
    name: "Shop: front"
    outside: weather
    power lost: {enter: locked, leave: unlocked}
    fire alarm: {enter: unlocked, leave: unlocked, latch: may release}
    out by: nothing mechanical
    lock: {part: magnet 24 V, holds down to: 20.4 V, contact: NO}
    second lock: magnet 24 V
    controller: C1 way 2
    reader: none
    exit: {part: button, place: by the till}
    runs: {exit: none, lock: {cable: 2 x 18 AWG, length: measured 40 ft, loop resistance: 0.6 ohm}}
    supply: S1
    release height: 45 in
    sign: PUSH TO EXIT
    leaves: 2
    key override: unknown
  D3:
    lock: {resistance: 90 ohm}
    controller at: the plant room
    cables: {main: 31 m of category cable}
    joints: {J1: {made: twist}}
    wiring:
      power:
        - [K1.brown, lead, controller.+]
        - [K1.blue, main blue + main orange, J1]
        - [D2.lock.+, trunk brown, lock.+]
    found:
      - {moved: main brown, from: controller.GND, to: controller.TAMPER}
      - {swapped: [main blue, main orange], at: from the supply}
      - {missing: reader}
      - {added: lead, from: controller.NO, to: J9, resistance: 0.5 ohm}
      - {part: controller, state: relay stuck on, when: wet}
      - {part: J1, resistance: 2.2 ohm, measured: "2026-02-11"}
      - {short: [main green, main brown], at: 4 m from controller}
      - {leak: [main green, earth], resistance: 10 to 20 kohm, when: wet}
      - {break: main brown}
    supply: S1 out 3
"""

HEAD = "latchwork: 1\n"


def read(text: str) -> Job:
    """The job of a text without the line that gives the version."""
    return read_job_text(HEAD + text, "job.yaml")


def door(text: str, more: str = "") -> Door:
    """Door D1, its fields given as the inside of ``{…}``, with further sections."""
    return read(f"{more}doors: {{D1: {{{text}}}}}\n").doors["D1"]


def problems(text: str) -> tuple[Problem, ...]:
    """The problems of a text without the line that gives the version."""
    try:
        read(text)
    except JobErrors as errors:
        return errors.problems
    return ()


def codes(text: str) -> list[str]:
    """Their codes."""
    return [problem.code for problem in problems(text)]
