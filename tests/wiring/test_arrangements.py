"""Each standard arrangement against rows written by hand from how doors are wired in the trade.

The rules behind them, all common practice without a source: fail-secure goes on NO and fail-safe
on NC where the relay picks up on grant; the fire contact stands ahead of the emergency release and
the release ahead of the controller's contact; a release with two poles breaks plus and minus; a
diode stands at the lock, its band (cathode) to plus. Cores are taken in the cable's colour order,
plus before minus.
"""

from __future__ import annotations

import pytest

from tests.wiring.sites import SUPPLIES, by_hand, drawn, wired

ORDINARY = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    lock: strike 24 V fail-secure
    controller: controller
    exit: button
    runs: {power: 18 m of 2 x 1.0 mm², exit: 6 m of 4 x 0.22 mm²}
""",
    """
    S1.1            | power brown | controller.+
    S1.-            | power blue  | controller.-
    controller.+    | lead        | controller.COM
    controller.NO   | lead        | lock.+
    controller.-    | lead        | lock.-
    controller.EXIT | exit white  | exit.NO
    controller.GND  | exit brown  | exit.COM
    """,
)

FAIL_SAFE_IS_ON_NC = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    lock: strike 24 V fail-safe
    controller: controller
    runs: {power: 18 m of 2 x 1.0 mm²}
""",
    """
    S1.1          | power brown | controller.+
    S1.-          | power blue  | controller.-
    controller.+  | lead        | controller.COM
    controller.NC | lead        | lock.+
    controller.-  | lead        | lock.-
    """,
)

FAIL_SAFE_ON_A_RELAY_ENERGISED_WHEN_IDLE = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    lock: magnet 24 V
    controller: controller, relay energised when idle
    runs: {power: 18 m of 2 x 1.0 mm²}
""",
    """
    S1.1          | power brown | controller.+
    S1.-          | power blue  | controller.-
    controller.+  | lead        | controller.COM
    controller.NO | lead        | lock.+
    controller.-  | lead        | lock.-
    """,
)

FAIL_SECURE_ON_A_RELAY_ENERGISED_WHEN_IDLE = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    lock: strike 24 V fail-secure
    controller: controller, relay energised when idle
    runs: {power: 18 m of 2 x 1.0 mm²}
""",
    """
    S1.1          | power brown | controller.+
    S1.-          | power blue  | controller.-
    controller.+  | lead        | controller.COM
    controller.NC | lead        | lock.+
    controller.-  | lead        | lock.-
    """,
)

READER_OUTSIDE_CONTROLLER_AT_THE_DOOR = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    lock: strike 24 V fail-secure
    controller: controller, reader outside
    reader: reader
    runs: {power: 18 m of 2 x 1.0 mm², reader: 2 m of 6 x 0.22 mm², lock: 3 m of 2 x 0.75 mm²}
""",
    """
    S1.1          | power brown   | controller.+
    S1.-          | power blue    | controller.-
    controller.+  | lead          | controller.COM
    controller.NO | lock brown    | lock.+
    controller.-  | lock blue     | lock.-
    controller.R+ | reader white  | reader.+
    controller.R- | reader brown  | reader.-
    controller.D0 | reader green  | reader.D0
    controller.D1 | reader yellow | reader.D1
    """,
)

CONTROLLER_AT_THE_SUPPLY = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 2
    lock: strike 24 V fail-secure
    controller: controller, reader outside
    controller at: supply
    exit: button
    runs: {lock: 30 m of 2 x 1.5 mm², exit: 30 m of 4 x 0.22 mm²}
""",
    """
    S1.2            | lead       | controller.+
    S1.-            | lead       | controller.-
    S1.2            | lead       | controller.COM
    controller.NO   | lock brown | lock.+
    S1.-            | lock blue  | lock.-
    controller.EXIT | exit white | exit.NO
    controller.GND  | exit brown | exit.COM
    """,
)

MAGNET_WITH_FIRE_CONTACT_AND_TWO_POLE_RELEASE = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    lock: magnet 24 V
    controller: controller, reader outside
    controller at: supply
    fire: fire relay
    release: release, double pole
    runs: {lock: 34 m of 2 x 1.5 mm², release: 34 m of 4 x 1.5 mm²}
""",
    """
    S1.1           | lead          | controller.+
    S1.-           | lead          | controller.-
    S1.1           | lead          | fire.COM
    fire.NO        | release brown | release.COM1
    release.NC1    | release blue  | controller.COM
    controller.NC  | lock brown    | lock.+
    lock.-         | lock blue     | X1
    X1             | release grey  | release.NC2
    release.COM2   | release black | S1.-
    """,
)

FIRE_RELAY_ENERGISED_ON_ALARM_IS_ON_NC = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    lock: magnet 24 V
    controller: controller
    fire: fire relay, energised on alarm
    runs: {power: 12 m of 2 x 1.0 mm²}
""",
    """
    S1.1          | power brown | controller.+
    S1.-          | power blue  | controller.-
    controller.+  | lead        | fire.COM
    fire.NC       | lead        | controller.COM
    controller.NC | lead        | lock.+
    controller.-  | lead        | lock.-
    """,
)

SINGLE_POLE_RELEASE_AT_THE_DOOR = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    lock: magnet 24 V
    controller: controller
    release: release
    runs: {power: 12 m of 2 x 1.0 mm², release: 4 m of 2 x 0.75 mm²}
""",
    """
    S1.1           | power brown   | controller.+
    S1.-           | power blue    | controller.-
    controller.+   | release brown | release.COM
    controller.COM | release blue  | release.NC
    controller.NC  | lead          | lock.+
    controller.-   | lead          | lock.-
    """,
)

RELEASE_FEEDS_A_FAIL_SECURE_LOCK = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    lock: strike 24 V fail-secure
    controller: controller
    release: release
    runs: {power: 12 m of 2 x 1.0 mm²}
""",
    """
    S1.1          | power brown | controller.+
    S1.-          | power blue  | controller.-
    controller.+  | lead        | controller.COM
    controller.NO | lead        | lock.+
    controller.-  | lead        | lock.-
    controller.+  | lead        | release.COM
    controller.NO | lead        | release.NO
    """,
)

FIRE_CONTACT_TAKES_POWER_FROM_A_FAIL_SECURE_LOCK = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    fire alarm: stays locked
    lock: strike 24 V fail-secure, fire-listed
    controller: controller
    fire: fire relay
    runs: {power: 12 m of 2 x 1.0 mm²}
""",
    """
    S1.1          | power brown | controller.+
    S1.-          | power blue  | controller.-
    controller.+  | lead        | fire.COM
    fire.NO       | lead        | controller.COM
    controller.NO | lead        | lock.+
    controller.-  | lead        | lock.-
    controller.CONTACT | lead   | lock.MON1
    controller.GND     | lead   | lock.MON2
    """,
)

FIRE_CONTACT_PUTS_POWER_ON_WHERE_THE_DOOR_MUST_OPEN = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    fire alarm: unlocks
    lock: strike 24 V fail-secure
    controller: controller
    fire: fire relay
    runs: {power: 12 m of 2 x 1.0 mm²}
""",
    """
    S1.1          | power brown | controller.+
    S1.-          | power blue  | controller.-
    controller.+  | lead        | controller.COM
    controller.NO | lead        | lock.+
    controller.-  | lead        | lock.-
    controller.+  | lead        | fire.COM
    controller.NO | lead        | fire.NC
    """,
)

PANIC_BAR_SWITCH_IN_THE_MAGNETS_POWER = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    out by: panic bar
    lock: magnet 24 V
    controller: controller
    controller at: supply
    bar: panic bar with switch
    runs: {lock: 20 m of 2 x 1.5 mm²}
""",
    """
    S1.1          | lead       | controller.+
    S1.-          | lead       | controller.-
    S1.1          | lead       | controller.COM
    controller.NC | lock brown | bar.COM
    bar.NC        | lead       | lock.+
    S1.-          | lock blue  | lock.-
    """,
)

TWO_POLE_PANIC_BAR_BREAKS_BOTH = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    out by: panic bar
    lock: magnet 24 V
    controller: controller
    controller at: supply
    bar: panic bar with two-pole switch
    runs: {lock: 20 m of 2 x 1.5 mm²}
""",
    """
    S1.1          | lead       | controller.+
    S1.-          | lead       | controller.-
    S1.1          | lead       | controller.COM
    controller.NC | lock brown | bar.COM1
    bar.NC1       | lead       | lock.+
    S1.-          | lock blue  | bar.COM2
    bar.NC2       | lead       | lock.-
    """,
)

PANIC_BAR_BREAKS_BOTH_MAGNETS = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    out by: panic bar
    lock: magnet 24 V
    second lock: magnet 24 V
    controller: controller
    controller at: supply
    bar: panic bar with two-pole switch
    release: release, double pole
    runs: {lock: 20 m of 2 x 1.5 mm², release: 20 m of 4 x 1.5 mm²}
""",
    """
    S1.1          | lead          | controller.+
    S1.-          | lead          | controller.-
    S1.1          | release brown | release.COM1
    release.NC1   | release blue  | controller.COM
    S1.-          | release black | release.COM2
    release.NC2   | release grey  | X1
    controller.NC | lock brown    | bar.COM1
    X1            | lock blue     | bar.COM2
    bar.NC1       | lead          | lock.+
    bar.NC2       | lead          | lock.-
    lock.+        | lead          | second lock.+
    lock.-        | lead          | second lock.-
    """,
)

BAR_SWITCH_ASKS_TO_LEAVE_WHERE_THE_LOCK_NEEDS_POWER = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    out by: panic bar
    lock: strike 24 V fail-secure
    controller: controller
    bar: panic bar with switch
    runs: {power: 12 m of 2 x 1.0 mm²}
""",
    """
    S1.1            | power brown | controller.+
    S1.-            | power blue  | controller.-
    controller.+    | lead        | controller.COM
    controller.NO   | lead        | lock.+
    controller.-    | lead        | lock.-
    controller.EXIT | lead        | bar.NO
    controller.GND  | lead        | bar.COM
    """,
)

DIODE_WITH_ITS_BAND_TO_PLUS = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    lock: magnet 24 V
    controller: controller
    diode: diode
    runs: {power: 12 m of 2 x 1.0 mm², lock: 3 m of 2 x 0.75 mm²}
""",
    """
    S1.1          | power brown | controller.+
    S1.-          | power blue  | controller.-
    controller.+  | lead        | controller.COM
    controller.NC | lock brown  | lock.+
    controller.-  | lock blue   | lock.-
    lock.+        | lead        | diode.K
    lock.-        | lead        | diode.A
    """,
)

EXIT_INPUT_THAT_ACTS_ON_OPEN = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    lock: strike 24 V fail-secure
    controller: controller, exit acts on open
    exit: button
    second exit: button
    runs: {power: 12 m of 2 x 1.0 mm², exit: 6 m of 4 x 0.22 mm²}
""",
    """
    S1.1            | power brown | controller.+
    S1.-            | power blue  | controller.-
    controller.+    | lead        | controller.COM
    controller.NO   | lead        | lock.+
    controller.-    | lead        | lock.-
    controller.EXIT | exit white  | exit.NC
    exit.COM        | lead        | second exit.NC
    second exit.COM | exit brown  | controller.GND
    """,
)

POWERED_SENSOR_AND_BUTTON_SIDE_BY_SIDE = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    lock: strike 24 V fail-secure
    controller: controller
    exit: exit sensor
    second exit: button
    runs: {power: 12 m of 2 x 1.0 mm², exit: 6 m of 4 x 0.22 mm²}
""",
    """
    S1.1            | power brown | controller.+
    S1.-            | power blue  | controller.-
    controller.+    | lead        | controller.COM
    controller.NO   | lead        | lock.+
    controller.-    | lead        | lock.-
    controller.+    | exit white  | exit.+
    controller.-    | exit brown  | exit.-
    controller.EXIT | exit green  | exit.NO
    controller.GND  | exit yellow | exit.COM
    exit.NO         | lead        | second exit.NO
    exit.COM        | lead        | second exit.COM
    """,
)

TWO_POWERED_SENSORS_SIDE_BY_SIDE = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    lock: strike 24 V fail-secure
    controller: controller
    exit: exit sensor
    second exit: exit sensor
    runs: {power: 12 m of 2 x 1.0 mm², exit: 6 m of 4 x 0.22 mm²}
""",
    """
    S1.1            | power brown | controller.+
    S1.-            | power blue  | controller.-
    controller.+    | lead        | controller.COM
    controller.NO   | lead        | lock.+
    controller.-    | lead        | lock.-
    controller.+    | exit white  | exit.+
    controller.-    | exit brown  | exit.-
    controller.EXIT | exit green  | exit.NO
    controller.GND  | exit yellow | exit.COM
    exit.+          | lead        | second exit.+
    exit.-          | lead        | second exit.-
    exit.NO         | lead        | second exit.NO
    exit.COM        | lead        | second exit.COM
    """,
)

TIMED_SUPPLY_STARTED_BY_THE_CONTROLLER = (
    "timed supply",
    """
latchwork: 1
supplies: {S1: timed supply 12 V}
doors:
  D1:
    supply: S1
    lock: strike 12 V fail-secure
    controller: controller
    exit: button
    runs: {power: 15 m of 4 x 0.5 mm², lock: 15 m of 2 x 1.0 mm²}
""",
    """
    S1.+            | power brown | controller.+
    S1.-            | power blue  | controller.-
    S1.IN           | power black | controller.NO
    S1.GND          | power grey  | controller.COM
    S1.NO           | lock brown  | lock.+
    S1.-            | lock blue   | lock.-
    controller.EXIT | lead        | exit.NO
    controller.GND  | lead        | exit.COM
    """,
)

# Its screws are plus while granted (NO) and while nobody is (NC): a lock on each.
TIMED_SUPPLY_WITH_TWO_UNLIKE_LOCKS = (
    "timed supply",
    """
latchwork: 1
supplies: {S1: timed supply 12 V}
doors:
  D1:
    supply: S1
    lock: strike 12 V fail-secure
    second lock: magnet 12 V
    controller: controller
    runs: {power: 15 m of 4 x 0.5 mm², lock: 15 m of 4 x 1.0 mm²}
""",
    """
    S1.+          | power brown | controller.+
    S1.-          | power blue  | controller.-
    S1.IN         | power black | controller.NO
    S1.GND        | power grey  | controller.COM
    S1.NC         | lock brown  | second lock.+
    S1.-          | lock blue   | second lock.-
    S1.NO         | lock black  | lock.+
    second lock.- | lead        | lock.-
    """,
)

TIMED_SUPPLY_STARTED_BY_THE_BUTTON_ALONE = (
    "timed supply",
    """
latchwork: 1
supplies: {S1: timed supply 12 V}
doors:
  D1:
    supply: S1
    lock: magnet 12 V
    exit: button
    release: release
    runs: {lock: 15 m of 2 x 1.0 mm², exit: 15 m of 4 x 0.22 mm², release: 15 m of 2 x 1.0 mm²}
""",
    """
    S1.NC       | release brown | release.COM
    release.NC  | release blue  | X1
    X1          | lock brown    | lock.+
    S1.-        | lock blue     | lock.-
    S1.IN       | exit white    | exit.NO
    S1.GND      | exit brown    | exit.COM
    """,
)

DELAY_MODULE = (
    "delay module",
    """
doors:
  D1:
    supply: S1 out 1
    lock: magnet 24 V
    controller: controller
    timer: delay module
    runs: {power: 12 m of 2 x 1.0 mm²}
""",
    """
    S1.1          | power brown | controller.+
    S1.-          | power blue  | controller.-
    controller.+  | lead        | timer.+
    controller.-  | lead        | timer.-
    controller.NO | lead        | timer.IN
    controller.COM | lead       | timer.GND
    controller.+  | lead        | timer.COM
    timer.NC      | lead        | lock.+
    controller.-  | lead        | lock.-
    """,
)

INTERPOSING_RELAY_AND_AC_STRIKE_ON_A_TRANSFORMER = (
    "interposing relay",
    """
latchwork: 1
supplies: {S1: "supply 12 V, no battery", T1: transformer 12 V AC}
doors:
  D1:
    supply: S1
    lock: {part: strike 12 V AC fail-secure, supply: T1}
    controller: controller
    relay: relay 12 V
    varistor: varistor
    runs: {power: 12 m of 2 x 1.0 mm²}
""",
    """
    S1.+          | power brown | controller.+
    S1.-          | power blue  | controller.-
    controller.+  | lead        | controller.COM
    controller.NO | lead        | relay.A1
    controller.-  | lead        | relay.A2
    T1.A1         | lead        | relay.COM
    relay.NO      | lead        | lock.A1
    T1.A2         | lead        | lock.A2
    lock.A1       | lead        | varistor.1
    lock.A2       | lead        | varistor.2
    """,
)

AC_STRIKE_ON_ITS_OWN_TRANSFORMER = (
    "controller relay",
    """
latchwork: 1
supplies: {S1: "supply 12 V, no battery", T1: transformer 12 V AC}
doors:
  D1:
    supply: S1
    lock: {part: strike 12 V AC fail-secure, supply: T1}
    controller: controller
    controller at: supply
    runs: {lock: 22 m of 2 x 1.0 mm²}
""",
    """
    S1.+          | lead       | controller.+
    S1.-          | lead       | controller.-
    T1.A1         | lead       | controller.COM
    controller.NO | lock brown | lock.A1
    T1.A2         | lock blue  | lock.A2
    """,
)

NETWORK_PORT = (
    "controller relay",
    """
latchwork: 1
supplies: {P1: "network port, class 3", S1: "supply 12 V, no battery"}
doors:
  D1:
    supply: P1
    lock: {part: strike 12 V fail-secure, supply: S1}
    controller: controller, network-fed
    runs: {power: 60 m of category cable}
""",
    """
    P1.+          | power blue       | controller.+
    P1.-          | power blue-white | controller.-
    S1.+          | lead             | controller.COM
    controller.NO | lead             | lock.+
    S1.-          | lead             | lock.-
    """,
)

MOTOR_LOCK = (
    "motor lock",
    """
doors:
  D1:
    supply: S1 out 1
    lock: motor lock 24 V
    controller: controller, reader outside
    controller at: supply
    release: release
    runs: {lock: 20 m of 4 x 1.0 mm²}
""",
    """
    S1.1          | lead       | controller.+
    S1.-          | lead       | controller.-
    S1.1          | lock brown | lock.+
    S1.-          | lock blue  | lock.-
    S1.-          | lead       | controller.COM
    controller.NO | lock black | lock.IN
    S1.-          | lead       | release.COM
    controller.NO | lead       | release.NO
    """,
)

MOTOR_LOCK_WORKED_BY_A_KEY = (
    "motor lock",
    """
doors:
  D1:
    supply: S1 out 1
    lock: motor lock 24 V
    key switch: {part: key switch, contact: open at rest}
    release: release
    runs: {lock: 9 m of 4 x 1.0 mm²}
""",
    """
    S1.1          | lock brown | lock.+
    S1.-          | lock blue  | lock.-
    S1.-          | lead       | key switch.1
    key switch.2  | lock black | lock.IN
    S1.-          | lead       | release.COM
    release.NO    | lead       | key switch.2
    """,
)

# The button's own cable goes to where power and lock runs meet, and there its cores come on.
MOTOR_LOCK_WORKED_BY_A_BUTTON_AWAY_FROM_IT = (
    "motor lock",
    """
doors:
  D1:
    supply: S1 out 1
    lock: motor lock 24 V
    second lock: magnet 24 V
    exit: exit button
    runs: {lock: 9 m of 6 x 1.0 mm², exit: 4 m of 4 x 0.22 mm²}
""",
    """
    S1.1 | lock brown  | lock.+
    S1.- | lock blue   | lock.-
    S1.- | exit white  | exit.COM
    X1   | exit brown  | exit.NO
    X1   | lock black  | lock.IN
    X2   | exit green  | exit.NC
    S1.1 | lock grey   | second lock.+
    X2   | lock white  | second lock.-
    """,
)

MAGNET_THAT_ONLY_A_RELEASE_TAKES_THE_POWER_FROM = (
    "nothing switches it",
    """
doors:
  D1:
    supply: S1 out 1
    lock: magnet 24 V
    release: release
    runs: {lock: 9 m of 2 x 1.0 mm²}
""",
    """
    S1.1       | lead       | release.COM
    release.NC | lock brown | lock.+
    S1.-       | lock blue  | lock.-
    """,
)

# What current holds hangs on the throws that the motor lock leaves free, in the minus, as IN must
# see no plus: at rest the minus runs through panel, release and controller to the magnet.
MOTOR_LOCK_BESIDE_A_MAGNET = (
    "motor lock",
    """
doors:
  D1:
    supply: S1 out 1
    fire alarm: unlocks
    lock: motor lock 24 V
    second lock: magnet 24 V
    controller: controller, reader outside
    controller at: supply
    fire: fire relay
    release: release, double pole
    runs: {lock: 20 m of 6 x 1.0 mm²}
""",
    """
    S1.1          | lead       | controller.+
    S1.-          | lead       | controller.-
    S1.1          | lock brown | lock.+
    S1.-          | lock blue | lock.-
    S1.-          | lead       | fire.COM
    fire.NO       | lead       | release.COM1
    S1.1          | lead       | release.COM2
    release.NC1   | lead       | controller.COM
    controller.NO | lock black | lock.IN
    controller.NO | lead       | fire.NC
    controller.NO | lead       | release.NO1
    release.NC2   | lock grey | second lock.+
    controller.NC | lock white  | second lock.-
    """,
)

# One IN beside the other: both bolts are withdrawn together.
TWO_MOTOR_LOCKS = (
    "motor lock",
    """
doors:
  D1:
    supply: S1 out 1
    leaves: 2
    lock: motor lock 24 V
    second lock: motor lock 24 V
    controller: controller
    runs: {power: 20 m of 2 x 1.5 mm²}
""",
    """
    S1.1          | power brown | controller.+
    S1.-          | power blue  | controller.-
    controller.+  | lead        | lock.+
    controller.-  | lead        | lock.-
    lock.+        | lead        | second lock.+
    lock.-        | lead        | second lock.-
    controller.-  | lead        | controller.COM
    controller.NO | lead        | lock.IN
    lock.IN       | lead        | second lock.IN
    controller.CONTACT | lead   | lock.MON1
    controller.GND | lead       | lock.MON2
    """,
)

RADIO_ACROSS_THE_EXIT_INPUT = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    lock: strike 24 V fail-secure
    controller: controller
    radio: radio receiver
    runs: {power: 12 m of 2 x 1.0 mm², radio: 5 m of 4 x 0.22 mm²}
""",
    """
    S1.1            | power brown  | controller.+
    S1.-            | power blue   | controller.-
    controller.+    | lead         | controller.COM
    controller.NO   | lead         | lock.+
    controller.-    | lead         | lock.-
    controller.+    | radio white  | radio.+
    controller.-    | radio brown  | radio.-
    controller.EXIT | radio green  | radio.NO
    controller.GND  | radio yellow | radio.COM
    """,
)

RADIO_ALONE = (
    "radio in the feed",
    """
doors:
  D1:
    supply: S1 out 1
    lock: magnet 24 V
    radio: radio receiver
    runs: {power: 12 m of 2 x 1.0 mm²}
""",
    """
    S1.1     | power brown | radio.+
    S1.-     | power blue  | radio.-
    radio.+  | lead        | radio.COM
    radio.NC | lead        | lock.+
    radio.-  | lead        | lock.-
    """,
)

BUTTON_IN_THE_FEED = (
    "exit in the feed",
    """
doors:
  D1:
    supply: S1 out 1
    lock: strike 24 V fail-secure
    exit: button
    controller at: supply
    runs: {lock: 9 m of 2 x 0.75 mm², exit: 7 m of 2 x 0.5 mm²}
""",
    """
    S1.1     | exit brown | exit.COM
    exit.NO  | exit blue  | X1
    X1       | lock brown | lock.+
    S1.-     | lock blue  | lock.-
    """,
)

BELL_BY_THE_CONTROLLER = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    lock: strike 24 V fail-secure
    controller: controller
    bell: bell
    runs: {power: 12 m of 2 x 1.0 mm², bell: 8 m of 2 x 0.5 mm²}
""",
    """
    S1.1             | power brown | controller.+
    S1.-             | power blue  | controller.-
    controller.+     | lead        | controller.COM
    controller.NO    | lead        | lock.+
    controller.-     | lead        | lock.-
    controller.+     | lead        | controller.BELL1
    controller.BELL2 | bell brown  | bell.+
    controller.-     | bell blue   | bell.-
    """,
)

BELL_BY_ITS_BUTTON = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    lock: strike 24 V fail-secure
    controller: controller, reader outside
    bell: bell
    bell button: bell button
    runs: {power: 12 m of 2 x 1.0 mm²}
""",
    """
    S1.1           | power brown | controller.+
    S1.-           | power blue  | controller.-
    controller.+   | lead        | controller.COM
    controller.NO  | lead        | lock.+
    controller.-   | lead        | lock.-
    controller.+   | lead        | bell button.1
    bell button.2  | lead        | bell.+
    controller.-   | lead        | bell.-
    """,
)

TAMPER_LOOP_THROUGH_THE_READER = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    lock: strike 24 V fail-secure
    controller: controller, reader outside, tamper loop
    reader: reader, tamper
    runs: {power: 12 m of 2 x 1.0 mm², reader: 2 m of 6 x 0.22 mm²}
""",
    """
    S1.1              | power brown   | controller.+
    S1.-              | power blue    | controller.-
    controller.+      | lead          | controller.COM
    controller.NO     | lead          | lock.+
    controller.-      | lead          | lock.-
    controller.R+     | reader white  | reader.+
    controller.R-     | reader brown  | reader.-
    controller.D0     | reader green  | reader.D0
    controller.D1     | reader yellow | reader.D1
    controller.TAMPER | reader grey   | reader.TAMPER
    """,
)

TAMPER_LOOP_OUT_AND_BACK = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    lock: strike 24 V fail-secure
    controller: controller, reader outside, tamper loop
    runs: {power: 12 m of 2 x 1.0 mm², tamper: 3 m of 2 x 0.22 mm²}
""",
    """
    S1.1              | power brown  | controller.+
    S1.-              | power blue   | controller.-
    controller.+      | lead         | controller.COM
    controller.NO     | lead         | lock.+
    controller.-      | lead         | lock.-
    controller.TAMPER | tamper white | X1
    controller.GND    | tamper brown | X1
    """,
)

DOOR_AND_LATCH_CONTACT = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    lock: strike 24 V fail-secure, monitored
    controller: controller
    contact: door contact
    latch contact: latch contact
    runs: {power: 12 m of 2 x 1.0 mm², contact: 6 m of 2 x 0.22 mm²}
""",
    """
    S1.1               | power brown   | controller.+
    S1.-               | power blue    | controller.-
    controller.+       | lead          | controller.COM
    controller.NO      | lead          | lock.+
    controller.-       | lead          | lock.-
    controller.CONTACT | contact white | contact.2
    contact.1          | lead          | latch contact.2
    latch contact.1    | contact brown | controller.GND
    """,
)

MONITORED_LOCK = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    lock: strike 24 V fail-secure, monitored
    controller: controller
    controller at: supply
    runs: {lock: 20 m of 4 x 1.0 mm²}
""",
    """
    S1.1               | lead       | controller.+
    S1.-               | lead       | controller.-
    S1.1               | lead       | controller.COM
    controller.NO      | lock brown | lock.+
    S1.-               | lock blue  | lock.-
    controller.CONTACT | lock black | lock.MON1
    controller.GND     | lock grey  | lock.MON2
    """,
)

SECOND_LOCK_BESIDE_THE_FIRST = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    lock: magnet 24 V
    second lock: magnet 24 V
    controller: controller
    runs: {power: 12 m of 2 x 1.0 mm², lock: 3 m of 2 x 1.0 mm²}
""",
    """
    S1.1          | power brown | controller.+
    S1.-          | power blue  | controller.-
    controller.+  | lead        | controller.COM
    controller.NC | lock brown  | lock.+
    controller.-  | lock blue   | lock.-
    lock.+        | lead        | second lock.+
    lock.-        | lead        | second lock.-
    """,
)

SECOND_LOCK_THAT_CURRENT_FREES_IS_ON_THE_OTHER_THROW = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    lock: magnet 24 V
    second lock: strike 24 V fail-secure
    controller: controller
    runs: {power: 12 m of 2 x 1.0 mm², lock: 3 m of 4 x 1.0 mm²}
""",
    """
    S1.1          | power brown | controller.+
    S1.-          | power blue  | controller.-
    controller.+  | lead        | controller.COM
    controller.NC | lock brown  | lock.+
    controller.-  | lock blue   | lock.-
    controller.NO | lock black  | second lock.+
    lock.-        | lead        | second lock.-
    """,
)

MAGNET_BESIDE_A_STRIKE_HANGS_ON_RELEASE_AND_BAR_WHICHEVER_IS_SECOND = (
    "controller relay",
    """
doors:
  D1:
    supply: S1 out 1
    out by: panic bar
    lock: strike 24 V fail-secure
    second lock: magnet 24 V
    diode: diode
    controller: controller
    bar: panic bar with switch
    release: release
    runs: {power: 12 m of 2 x 1.0 mm², release: 2 m of 2 x 1.0 mm², lock: 3 m of 4 x 1.0 mm²}
""",
    """
    S1.1          | power brown   | controller.+
    S1.-          | power blue    | controller.-
    controller.+  | release brown | release.COM
    release.NC    | release blue  | controller.COM
    controller.NC | lock brown    | bar.COM
    bar.NC        | lead          | second lock.+
    controller.-  | lock blue     | second lock.-
    controller.NO | lock black    | lock.+
    second lock.- | lead          | lock.-
    lock.+        | lead          | diode.K
    lock.-        | lead          | diode.A
    """,
)

ARRANGEMENTS = {name: value for name, value in globals().items() if isinstance(value, tuple)}


@pytest.mark.parametrize("name", ARRANGEMENTS)
def test_rows_are_those_of_the_trade(name: str) -> None:
    code, job, rows = ARRANGEMENTS[name]
    wiring = wired(job, "" if job.lstrip().startswith("latchwork") else SUPPLIES)
    nets, cores = drawn(wiring, "D1")
    wanted_nets, wanted_cores = by_hand(rows, "D1")
    assert cores == wanted_cores
    assert nets == wanted_nets
    assert wiring.arrangement["D1"] == code
    assert wiring.troubles == ()


def test_rows_of_the_exit_leg_stand_and_the_run_of_a_motor_lock_goes_on_from_the_button() -> None:
    runs = "runs: {lock: 9 m of 4 x 1.0 mm², exit: 4 m of 4 x 0.22 mm²}"
    rows = "wiring: {exit: [[S1.-, exit white, exit.COM]]}"
    its = f"supply: S1 out 1, lock: motor lock 24 V, exit: exit button, {runs}, {rows}"
    wiring = wired(f"doors: {{D1: {{{its}}}}}", SUPPLIES)
    assert {(row.start, row.end) for row in wiring.rows} == {
        ("S1.-", "D1.exit.COM"),
        ("S1.1", "D1.lock.+"),
        ("S1.-", "D1.lock.-"),
        ("D1.exit.NO", "D1.lock.IN"),
    }


def test_a_motor_lock_that_nothing_works_is_fed_and_no_more() -> None:
    lone = "lock: motor lock 24 V, release: release"
    wiring = wired(f"doors: {{D1: {{supply: S1 out 1, {lone}}}}}", SUPPLIES)
    assert {(row.start, row.end) for row in wiring.rows} == {
        ("S1.1", "D1.lock.+"),
        ("S1.-", "D1.lock.-"),
    }
    assert [(t.code, t.figures["device"]) for t in wiring.troubles] == [
        ("nothing to join to", "D1.release")
    ]
