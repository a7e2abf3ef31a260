"""Questions one after the other: only those whose answer still matters, given the ones before."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field

from latchwork.job import Job
from latchwork.job.problems import one_of
from latchwork.parts import Catalogue, Part, PartNotFound

Answers = Mapping[str, str]


class WrongAnswer(Exception):
    """An answer that cannot be used; ``expected`` is what would be."""

    def __init__(self, found: str, expected: str) -> None:
        super().__init__(found)
        self.found = found
        self.expected = expected


@dataclass(frozen=True, slots=True)
class Known:
    """What is known before the first question: the catalogue, and the job as far as there is one.

    ``usual`` are the job's usual values as text; ``said`` are doors described just now, by id.
    """

    catalogue: Catalogue
    job: Job | None = None
    usual: Mapping[str, str] = field(default_factory=dict)
    said: Mapping[str, Answers] = field(default_factory=dict)
    us: bool = False
    """Whether the job is written in US units."""

    def part(self, name: str, slot: str) -> Part:
        """The part of that name. Raises WrongAnswer."""
        try:
            return self.catalogue.find(name, slot).resolve()
        except PartNotFound as missing:
            near = " or ".join(missing.nearest) or "a part that latchwork parts lists"
            raise WrongAnswer(name, near) from None


def _always(known: Known, answers: Answers) -> bool:
    del known, answers
    return True


def _never(known: Known, answers: Answers) -> bool:
    del known, answers
    return False


def _nothing(known: Known, answers: Answers) -> str:
    del known, answers
    return ""


def _any(known: Known, text: str) -> str:
    del known
    return text


@dataclass(frozen=True, slots=True)
class Ask:
    """One question. ``default`` "" means that there must be an answer; ``taken`` tells whether an
    answer is right though it is not needed; ``offers`` are answers to choose from, and with
    ``closed`` the only ones; ``read`` gives the answer as it is kept, or raises WrongAnswer;
    ``wants`` says what the answers before want in its place, "" where it fits them. The words are
    in the catalogue under ``ask.<key>``.
    """

    key: str
    default: Callable[[Known, Answers], str] = _nothing
    needed: Callable[[Known, Answers], bool] = _always
    taken: Callable[[Known, Answers], bool] = _never
    offers: Callable[[Known, Answers], Sequence[str]] = lambda known, answers: ()
    closed: bool = False
    read: Callable[[Known, str], str] = _any
    wants: Callable[[Known, Answers, str], str] = lambda known, answers, text: ""

    def answer(self, known: Known, answers: Answers, text: str) -> str:
        """The answer that a text means: a number picks an offer. Raises WrongAnswer."""
        text = " ".join(text.split())
        offers = self.offers(known, answers)
        if text.isdecimal() and 1 <= int(text) <= len(offers):
            return offers[int(text) - 1]
        same = [offer for offer in offers if offer.casefold() == text.casefold()]
        if same:
            return same[0]
        if self.closed:
            raise WrongAnswer(text, one_of(text, offers))
        if not text:
            raise WrongAnswer("nothing", "an answer")
        read = self.read(known, text)
        wanted = self.wants(known, answers, read)
        if wanted:
            raise WrongAnswer(text, wanted)
        return read


def next_ask(
    asks: Sequence[Ask], known: Known, answers: Answers, said: Collection[str] = ()
) -> Ask | None:
    """The first question that is not answered and still matters, or that ``said`` answers."""
    return next(
        (
            a
            for a in asks
            if a.key not in answers
            and (a.needed(known, answers) or (a.key in said and a.taken(known, answers)))
        ),
        None,
    )
