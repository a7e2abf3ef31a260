"""Trade and life-safety rules: from what every door does to findings."""

from latchwork.rules.electrical import worst_volts
from latchwork.rules.judge import RULES, judge
from latchwork.rules.rule import Rule, View

__all__ = ["RULES", "Rule", "View", "judge", "worst_volts"]
