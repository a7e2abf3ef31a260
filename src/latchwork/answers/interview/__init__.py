"""A job described by questions: what to ask next, and the lines that the answers make."""

from latchwork.answers.interview.asking import Answers, Ask, Known, WrongAnswer, next_ask
from latchwork.answers.interview.door import DOOR, LIKE_NONE
from latchwork.answers.interview.lines import door_value, free_id, lean, like, usual_texts
from latchwork.answers.interview.part import PART, part_values
from latchwork.answers.interview.site import SITE, SUPPLY, job_text, supply_value

__all__ = [
    "DOOR",
    "LIKE_NONE",
    "PART",
    "SITE",
    "SUPPLY",
    "Answers",
    "Ask",
    "Known",
    "WrongAnswer",
    "door_value",
    "free_id",
    "job_text",
    "lean",
    "like",
    "next_ask",
    "part_values",
    "supply_value",
    "usual_texts",
]
