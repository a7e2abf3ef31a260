"""The page that ``faults`` prints: all doors at a glance, a section a door, its
worst effects first, then the counts."""

from __future__ import annotations

from collections.abc import Sequence

from latchwork.answers.faults_groups import SEVERITY, alike, also, late, missing
from latchwork.answers.faults_model import (
    AttackLine,
    CountsLine,
    DoorFaults,
    FaultLine,
    FaultRemedyLine,
    FaultsAnswer,
    PairLine,
)
from latchwork.answers.service import ServiceLine
from latchwork.answers.service_together import Together, together
from latchwork.cli.faults_overview import show_overview
from latchwork.cli.page import Page, fitted, joined, printable, tinted, typed
from latchwork.cli.service_page import FEW, a_few, show_supplies, show_tests
from latchwork.words import say

_IN, _FAR = 4, 7


def faults_page(answer: FaultsAnswer, job: str, *, whole: bool, width: int | None = None) -> str:
    """The page; ``whole``: nothing is left out."""
    page, job = Page(width), typed(job)
    page.head(printable(answer.site or answer.file))
    page.hang("", say("faults.as drawn", {"job": job}), 0, "quiet")
    for supply in answer.drained:
        told = {"supply": printable(supply), "job": job}
        page.hang(say("mark.weak"), say("faults.drained", told), 0, "", "weak")
    if len(answer.doors) > 1:
        show_overview(page, answer.doors)
    shared = together(line for door in answer.doors for line in door.service)
    for door in answer.doors:
        _Door(page, answer, door, job, whole, shared).show()
    show_supplies(page, shared, answer.batteries, whole)
    page.section(say("faults.counted in all"))
    _all(page, answer, whole)
    page.hang("", answer.caution, 0)
    return page.text()


def _all(page: Page, answer: FaultsAnswer, whole: bool) -> None:
    told = _figures(answer.counts)
    page.hang("", say("faults.counts", {"faults": str(answer.faults), **told}), 0)
    if answer.attack_counts is not None:
        page.hang("", say("faults.counts attacks", _figures(answer.attack_counts)), 0)
    if answer.pair_counts is not None:
        page.hang("", say("faults.counts pairs", _figures(answer.pair_counts)), 0)
        found = sum(len(door.pairs) for door in answer.doors)
        pairs = {"run": str(answer.pairs_run), "of": str(answer.pairs_of), "count": str(found)}
        page.hang("", say("faults.pairs counted", pairs), 0)
    if answer.unseen:
        page.hang("", f"{say('faults.unseen')}: {a_few(answer.unseen, whole)}", 0)
    if answer.batteries or any(door.service for door in answer.doors):
        page.hang("", say("service.often source"), 0, "quiet")


def _figures(counts: CountsLine) -> dict[str, float | str]:
    return {name: f"{getattr(counts, name)}" for name in counts.__struct_fields__}


class _Door:
    """One door's section."""

    def __init__(
        self,
        page: Page,
        answer: FaultsAnswer,
        door: DoorFaults,
        job: str,
        whole: bool,
        shared: Sequence[Together],
    ) -> None:
        self._page, self._answer, self._door = page, answer, door
        self._job, self._whole = job, whole
        self._elsewhere = [t for t in shared if any(look.door == door.id for look in t.looks)]

    def show(self) -> None:
        """Everything about the door."""
        page, door = self._page, self._door
        counts = [
            f"{tinted(say(f'mark.{SEVERITY[effect]}'), SEVERITY[effect])} "
            + say("faults.counted", {"effect": say(f"effect.{effect}"), "count": str(count)})
            for effect, count in door.counts.items()
            if count
        ]
        page.section(joined(dict.fromkeys((printable(door.id), printable(door.name)))))
        if door.beyond:
            page.hang(say("mark.weak"), door.beyond.text, 2, "", "weak")
        if door.missing:
            page.hang(say("mark.insecure"), missing(door), 2, "", "insecure")
        elif not door.has_lock:
            page.line(say("faults.no lock"))
        if not door.has_lock:
            return
        page.flow(counts or [say("faults.none")])
        for effect in SEVERITY:
            self._effect(effect)
        self._attacks()
        self._pairs()
        self._remedies()
        self._service()

    def _effect(self, effect: str) -> None:
        groups = list(alike([f for f in self._door.faults if f.effect == effect]))
        if not groups:
            return
        page, severity = self._page, SEVERITY[effect]
        page.line()
        label = f"{say(f'mark.{severity}')} {say(f'effect.{effect}')}"
        page.hang(label, say(f"faults.about.{effect}"), len(label) + 2, "quiet", severity)
        shown = groups if self._whole else groups[:FEW]
        for group in shown:
            first = group[0]
            page.hang("", a_few([f.text for f in group], self._whole), _IN)
            when = say(_when(first), {"situation": first.situation})
            case = say(f"faults.case.{first.case}") if first.case != "nominal" else ""
            told = (" ".join((when, case)).strip(), first.why, _also_told(first))
            page.hang("", joined(told), _FAR, "quiet")
        self._more(sum(len(group) for group in groups[len(shown) :]))

    def _more(self, left: int) -> None:
        if left:
            rest = {"count": str(left), "job": self._job, "door": typed(self._door.id)}
            self._page.hang("", say("faults.more", rest), _IN, "quiet")

    def _attacks(self) -> None:
        door, page = self._door, self._page
        if door.covered is None:
            return
        page.line()
        opened = say("faults.opened none")
        if door.attacks:
            opened = say("faults.opened", {"count": str(len(door.attacks))})
        label = f"{say('mark.insecure') if door.attacks else ' '} {say('faults.attacks')}"
        severity = "insecure" if door.attacks else ""
        page.hang(label, opened, len(label) + 2, "", severity)
        covered = door.covered
        told: dict[str, float | str] = {
            name: f"{getattr(covered, name)}" for name in ("ends", "joins", "of", "batteries")
        }
        told["units"] = ", ".join(covered.units)
        tried = say("faults.coverage" if covered.units else "faults.coverage none", told)
        by_hand = {"count": str(covered.without_tools)}
        hands = say("faults.coverage by hand", by_hand) if covered.without_tools else ""
        page.hang("", joined((tried, hands)), _IN, "quiet")
        groups = _attack_groups(door.attacks)
        shown = groups if self._whole else groups[:FEW]
        for group in shown:
            names = [f"{a.unit} {a.text}".strip() for a in group]
            page.hang("", a_few(names, self._whole), _IN)
            when = say("faults.when", {"situation": group[0].situation})
            page.hang("", joined((when, group[0].why)), _FAR, "quiet")
        self._more(sum(len(group) for group in groups[len(shown) :]))

    def _pairs(self) -> None:
        pairs: tuple[PairLine, ...] = self._door.pairs
        if not pairs:
            return
        self._page.line()
        self._page.line(say("faults.pairs"))
        # The worst first, of like ones the likeliest.
        worst = sorted(pairs, key=lambda pair: list(SEVERITY).index(pair.effect))
        shown = worst if self._whole else worst[:FEW]
        for pair in shown:
            told = {"silent": pair.silent, "second": pair.second}
            told["effect"] = say(f"effect.{pair.effect}")
            severity = SEVERITY[pair.effect]
            mark = f"  {say(f'mark.{severity}')}"
            self._page.hang(mark, say("faults.pair", told), _IN, "", severity)
        self._more(len(pairs) - len(shown))

    def _remedies(self) -> None:
        remedies: tuple[FaultRemedyLine, ...] = self._door.remedies
        if not self._answer.remedies_asked:
            return
        self._page.line()
        self._page.line(say("faults.remedies"))
        if not remedies:
            self._page.line(" " * _IN + say("faults.remedies none"))
        for remedy in remedies:
            told = {"had": str(remedy.had), "left": str(remedy.left)}
            key = "faults.remedy attacks"
            if remedy.effect != "attack":
                key, told["effect"] = "faults.remedy", say(f"effect.{remedy.effect}")
            self._page.hang("", say(key, told), _IN)
            for word, shown in (("on site", remedy.on_site), ("takes over", remedy.takes_over)):
                if shown:
                    self._page.hang("", say(f"mend.{word}"), _FAR, "quiet")
            for comes in remedy.comes:
                there = {"door": comes.door, "effect": say(f"effect.{comes.effect}")}
                there["faults"] = a_few(comes.faults, self._whole)
                self._page.hang("", say("faults.remedy comes", there), _FAR)
            for line in remedy.lines:
                if not line.startswith(("---", "+++", "@@")):
                    self._page.line(" " * _FAR + self._of_file(printable(line)))

    def _of_file(self, line: str) -> str:
        """A line of the job file; one that stays as it is only says where the others are."""
        return fitted(line, self._page.reach - _FAR) if line.startswith(" ") else line

    def _service(self) -> None:
        lines: tuple[ServiceLine, ...] = self._door.service
        untried = self._door.untried
        if not lines and not untried:
            return
        self._page.line()
        self._page.line(say("faults.service"))
        told = [look for test in self._elsewhere for look in test.looks]
        show_tests(self._page, [line for line in lines if line not in told], self._whole)
        if self._elsewhere:
            given = "; ".join(test.given for test in self._elsewhere)
            there = {"supply": self._elsewhere[0].supply, "given": given}
            self._page.hang("", say("service.elsewhere", there), _IN)
        if untried:
            why = "service.untried" if self._door.beyond else "service.unsure"
            self._page.hang("", say(why, {"faults": a_few(untried, self._whole)}), _IN)


def _also_told(fault: FaultLine) -> str:
    names = [say(f"effect.{effect}") for effect in also(fault)]
    return say("faults.also", {"effects": ", ".join(names)}) if names else ""


def _when(fault: FaultLine) -> str:
    """Which text tells its situation: what somebody does shows at once or past the relay time."""
    return "faults.when late" if late(fault) else "faults.when"


def _attack_groups(attacks: Sequence[AttackLine]) -> list[list[AttackLine]]:
    """Attacks on one unit in one situation that come about alike, but for their volts: first what
    needs no tools, then what there is most of."""
    found: dict[object, list[AttackLine]] = {}
    for attack in attacks:
        about = attack.why.rpartition("; ")[0], attack.why.rpartition(": ")[2]
        key = attack.unit, attack.situation, about
        found.setdefault(key, []).append(attack)
    return sorted(found.values(), key=lambda group: (group[0].unit != "", -len(group)))
