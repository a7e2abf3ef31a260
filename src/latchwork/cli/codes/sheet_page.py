"""A sheet as text, as a page to print in large type, and as facts for programs."""

from __future__ import annotations

import html
import re
from collections.abc import Iterable, Sequence

from latchwork.cli.codes.chances import one_in
from latchwork.cli.page import Page, printable
from latchwork.codes.facts import HarmFacts, NoteFacts, SheetFacts, SlipFacts, StepFacts
from latchwork.codes.keypad.grammar import Grammar
from latchwork.codes.keypad.job_sheet import ControllerSheet
from latchwork.codes.keypad.proof import KindOfStep
from latchwork.codes.keypad.sheet import Step
from latchwork.codes.keypad.simulator import Answer, Press
from latchwork.words import say

_DOT = "•"
_BLANK = re.compile(r"\{[^{}]*\}")


def text_page(
    made: ControllerSheet, number: int, kinds: Sequence[KindOfStep], show_codes: bool
) -> str:
    """The sheet for a terminal."""
    page = Page()
    page.section(_title(made, number))
    page.hang("", _begins(made), 0)
    if not made.sheet.steps:
        page.line(say("codes.sheet.nothing"))
    for index, step in enumerate(made.sheet.steps, 1):
        page.line()
        page.hang(f"{index:3}", _what(made, step), 5, label_tint="head")
        page.hang("", "  ".join(_keys(made, step, show_codes)), 5, tint="head")
        page.hang("", _answer(made.grammar, step.answers[-1]), 5, tint="quiet")
    if made.sheet.steps:
        page.section(say("codes.sheet.proof"))
        page.hang("", _proved(made), 0)
        for kind in kinds:
            told, *harms = _slips(kind)
            page.hang("  ·", told, 4)
            for harm in harms:
                page.hang("    –", harm, 6)
    if made.notes:
        page.section(say("codes.sheet.notes"))
        for line in notes_of(made):
            page.hang("  ·", line, 4)
    if made.sheet.steps and not show_codes:
        page.line()
        page.line(say("codes.sheet.hidden"))
    return page.text()


def _title(made: ControllerSheet, number: int) -> str:
    facts = {
        "controller": made.controller.id,
        "name": made.controller.name,
        "grammar": made.grammar.name,
        "number": str(number),
    }
    return printable(say("codes.sheet.title" if number else "codes.sheet.title-none", facts))


def _begins(made: ControllerSheet) -> str:
    here = {"controller": made.controller.id}
    if made.sheet.resets:
        told = say("codes.sheet.from-reset")
        # After a reset by hand such a unit is as from the factory, and refuses the code known here.
        if {"codes", "users"}.isdisjoint(made.grammar.reset_keeps):
            told = f"{told} {say('codes.sheet.reset-refused', here)}"
        return told
    if not made.known:
        return say("codes.sheet.from-factory")
    told = say("codes.sheet.from-known")
    if not made.sheet.steps:
        return told
    # Two units of one part look alike to the job; the codes tell them apart, where they are new.
    factory = made.sheet.begins_with.codes == made.grammar.factory_codes
    key = "codes.sheet.unit-unseen" if factory else "codes.sheet.unit-seen"
    return f"{told} {say(key, here)}"


def _what(made: ControllerSheet, step: Step) -> str:
    name = made.name_at(step)
    return f"{step.what} · {name}" if name else step.what


def _keys(made: ControllerSheet, step: Step, show_codes: bool) -> list[str]:
    """The keys of a step; on a display, what it asks for stands between them in brackets."""
    shown: list[str] = []
    prompt = ""
    for index, (press, answer) in enumerate(zip(step.presses, step.answers, strict=True)):
        shown.append(_key(press, show_codes))
        last = index == len(step.presses) - 1
        if made.grammar.display and not press.role and not last and answer.shows != prompt:
            shown.append(f"[{answer.shows}]")
            prompt = answer.shows
    return shown


def _key(press: Press, show_codes: bool) -> str:
    if press.kind == "card":
        return say("codes.sheet.card")
    if press.kind == "finger":
        return say("codes.sheet.finger")
    return _DOT if press.secret and not show_codes else press.value


def _answer(grammar: Grammar, answer: Answer) -> str:
    signal = grammar.signals[answer.signal]
    parts = []
    if signal.hear:
        parts.append(say("codes.sheet.hear", {"what": signal.hear}))
    if signal.see:
        parts.append(say("codes.sheet.see", {"what": signal.see}))
    key = "codes.sheet.display" if grammar.display else "codes.sheet.then"
    parts.append(say(key, {"what": answer.shows}))
    return " · ".join(parts)


def _proved(made: ControllerSheet) -> str:
    users = len(made.sheet.ends_with.users)
    facts = {"keys": str(len(made.sheet.presses)), "users": str(users)}
    return say("codes.sheet.proved", facts)


def _slips(kind: KindOfStep) -> list[str]:
    """What was tried of a kind of step, then what each slip does that nobody notices."""
    tried = kind.caught + kind.harmless + kind.harmful
    what = _BLANK.sub("…", kind.what)
    facts = {"what": what, "tried": str(tried), "caught": str(kind.caught)}
    if not kind.harms:
        key = "all-caught" if not kind.harmless else "none-harmful"
        return [say(f"codes.slips.{key}", {**facts, "harmless": str(kind.harmless)})]
    lines = [say("codes.slips.some", {**facts, "harmful": str(kind.harmful)})]
    seen: dict[tuple[str, str], set[str]] = {}
    for harm in kind.harms:
        seen.setdefault((harm.slip, harm.part), set()).update(harm.effects)
    for (slip, part), effects in seen.items():
        where = say(f"codes.slips.part.{part}") if part in ("keys", "way") else part
        facts = {
            "slip": say(f"codes.slips.slip.{slip}"),
            "part": where,
            "effects": ", ".join(say(f"codes.slips.effect.{e}") for e in sorted(effects)),
        }
        lines.append(say("codes.slips.harm", facts))
    return lines


def notes_of(made: ControllerSheet) -> list[str]:
    """What the controller cannot be told and what to know of it, in words."""
    lines = []
    for note in made.notes:
        who = ", ".join(note.who[:6]) + (" …" if len(note.who) > 6 else "")
        detail = one_in(float(note.detail)) if note.code == "odds" else note.detail
        lines.append(say(f"codes.note.{note.code}", {"who": who, "detail": detail}))
    return lines


def facts_of(
    made: ControllerSheet, number: int, kinds: Sequence[KindOfStep], show_codes: bool
) -> SheetFacts:
    """The sheet for programs. Codes are dots unless asked for."""
    return SheetFacts(
        1,
        made.controller.id,
        made.grammar.name,
        number,
        "reset" if made.sheet.resets else "confirmed" if made.known else "factory",
        tuple(
            StepFacts(
                step.kind,
                step.what,
                step.place,
                made.name_at(step),
                tuple(_key(p, show_codes) for p in step.presses),
                step.answers[-1].signal,
                step.answers[-1].shows,
            )
            for step in made.sheet.steps
        ),
        tuple(
            SlipFacts(
                kind.kind,
                kind.caught,
                kind.harmless,
                tuple(HarmFacts(h.slip, h.part, h.effects, h.ways) for h in kind.harms),
            )
            for kind in kinds
        ),
        tuple(NoteFacts(n.code, n.who, n.detail) for n in made.notes),
    )


_STYLE = """
body { font: 14pt/1.35 "Atkinson Hyperlegible Next", "Noto Sans", sans-serif; color: #14202b;
  background: #fdfcf8; margin: 18mm 16mm 16mm 22mm; }
@page { margin: 18mm 16mm 16mm 22mm; }
@media print { body { margin: 0; background: none; } }
h1 { font-size: 18pt; border-bottom: 1.5pt solid; padding-bottom: 2mm; margin: 0 0 4mm; }
h2 { font-size: 14pt; border-bottom: 0.5pt solid; margin: 8mm 0 3mm; }
ol { list-style: none; padding: 0; margin: 0; }
ol > li { break-inside: avoid; border-bottom: 0.5pt solid #9aa4ad; padding: 3mm 12mm 3mm 16mm;
  position: relative; }
.n { position: absolute; left: 0; font-size: 22pt; line-height: 1; }
.keys { font: 22pt/1.5 "Atkinson Hyperlegible Mono", "Noto Sans Mono", monospace;
  word-spacing: 0.35em; }
.keys i { font-size: 13pt; font-style: normal; word-spacing: normal; white-space: nowrap; }
.tick { position: absolute; right: 0; top: 4mm; width: 7mm; height: 7mm;
  border: 1pt solid; box-sizing: border-box; margin-right: 1pt; }
ul { margin: 0; padding-left: 6mm; font-size: 12pt; }
@media screen and (max-width: 600px) {
  body { margin: 4mm; overflow-wrap: anywhere; }
  ol > li { padding: 3mm 10mm 3mm 11mm; }
}
"""


def html_page(
    made: ControllerSheet, number: int, kinds: Sequence[KindOfStep], show_codes: bool
) -> str:
    """The sheet as one page of HTML, large enough to be read at a door."""

    def text(value: str) -> str:
        return html.escape(value)

    rows = []
    for index, step in enumerate(made.sheet.steps, 1):
        keys = " ".join(
            f"<i>{text(k)}</i>" if len(k) > 3 else text(k) for k in _keys(made, step, show_codes)
        )
        rows.append(
            f'<li><span class="n">{index}</span><span class="tick"></span>'
            f"{text(_what(made, step))}"
            f'<div class="keys">{keys}</div>{text(_answer(made.grammar, step.answers[-1]))}</li>'
        )

    def listed(lines: Iterable[str]) -> str:
        return "".join(f"<li>{text(line)}</li>" for line in lines)

    slips = ""
    for told, *harms in map(_slips, kinds):
        slips += f"<li>{text(told)}{f'<ul>{listed(harms)}</ul>' if harms else ''}</li>"
    notes = listed(notes_of(made))
    after = f"<h2>{text(say('codes.sheet.notes'))}</h2><ul>{notes}</ul>" if notes else ""
    title = text(_title(made, number))
    return (
        f'<!doctype html>\n<html lang="en"><meta charset="utf-8">'
        f'<meta name="viewport" content="width=device-width"><title>{title}</title>'
        f"<style>{_STYLE}</style><h1>{title}</h1><p>{text(_begins(made))}</p>"
        f"<ol>{''.join(rows)}</ol>"
        f"<h2>{text(say('codes.sheet.proof'))}</h2><p>{text(_proved(made))}</p><ul>{slips}</ul>"
        f"{after}<p>{text(say('codes.sheet.shred'))}</p></html>\n"
    )
