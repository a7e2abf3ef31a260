"""Trade and life-safety rules: from what every door does to findings."""

from latchwork.rules.judge import RULES, judge
from latchwork.rules.lock_volts import least_volts, need
from latchwork.rules.rule import Rule, Uses
from latchwork.rules.sets import Known, Limit, Limits, limits_of
from latchwork.rules.view import View

__all__ = [
    "RULES",
    "Known",
    "Limit",
    "Limits",
    "Rule",
    "Uses",
    "View",
    "judge",
    "least_volts",
    "limits_of",
    "need",
]
