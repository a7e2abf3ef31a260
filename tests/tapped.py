"""A door that takes its power from a tap of a trunk cable. All data is invented."""

DOOR = """\
    lock: strike 24 V fail-secure
    controller: controller
    exit: exit button
    runs: {exit: 6 m of 4 x 0.22 mm²}
    wiring: {power: [[K1.brown, lead, controller.+], [K1.blue, lead, controller.-]]}
"""
