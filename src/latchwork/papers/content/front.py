"""Cover, remaining findings, cautions."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from latchwork.answers.model import FindingLine
from latchwork.papers.content.source import Sheet, Source, lines, words
from latchwork.quantities import show
from latchwork.words import say

COVER_FINDINGS = 14
"""As many as leave room for the contents."""


def cover(source: Source, contents: Sequence[Sheet]) -> Sheet:
    """The first sheet: what job, what was found, what is in the pack."""
    answer, check = source.schedules, source.check
    site = source.index.plan.job.site
    facts = [
        [words("cover.doors"), str(len(answer.doors))],
        [words("cover.supplies"), ", ".join(f"{s.id} {s.part}" for s in answer.supplies)],
    ]
    for key in ("client", "address", "authority", "edition", "fire contact", "note"):
        said = site.facts.get(key)
        if said:
            facts.append([words(f"cover.{key}"), str(said)])
    facts.append([words("cover.rules"), site.rule_set])
    if site.standby_h is not None:
        facts.append([words("cover.standby"), show(site.standby_h.value * 3600.0, "s")])
    if site.ambient_c is not None:
        cold, hot = (
            show(c, "°C", source.system) for c in (site.ambient_c.low, site.ambient_c.high)
        )
        facts.append([words("cover.ambient"), words("cover.range", {"cold": cold, "hot": hot})])
    shown = [finding(f) for f in check.findings[:COVER_FINDINGS]]
    left = len(check.findings) - len(shown)
    return {
        "kind": "cover",
        "title": words("sheet.cover"),
        "over": words("cover.over"),
        "facts": facts,
        "found_title": words("cover.found"),
        "found_sum": found_sum(check.findings),
        "findings": shown,
        "more": words("cover.more", {"count": str(left)}) if left else "",
        "contents_title": words("cover.contents"),
        "contents": list(contents),
        "caution": say("caution"),
    }


def found_sum(found: Sequence[FindingLine], key: str = "cover.some") -> str:
    """How many findings of each severity, worst first, in the words of ``key``."""
    if not found:
        return words("cover.nothing")
    counts = Counter(f.severity for f in found)
    order = ("danger", "insecure", "fails", "weak", "note")
    told = [f"{say(f'severity.{s}')} {counts[s]}" for s in order if counts[s]]
    return words(key, {"list": ", ".join(told)})


def finding(line: FindingLine) -> dict[str, str]:
    """A finding in words."""
    hangs = ", ".join(line.provisional)
    return {
        "severity": line.severity,
        "title": line.title,
        "why": line.why,
        "do": line.do,
        "source": f"{line.source_text} ({line.id})",
        "provisional": words("findings.hangs", {"list": hangs}) if hangs else "",
    }


def findings_sheet(source: Source) -> Sheet:
    """Every finding, worst first."""
    found = source.check.findings
    return {
        "kind": "findings",
        "title": words("sheet.findings"),
        "about": found_sum(found, "findings.some") if found else None,
        "findings": [finding(f) for f in found],
        "none": words("cover.nothing"),
        "why": words("findings.why"),
        "do": words("findings.do"),
        "source": words("findings.source"),
    }


def cautions(source: Source) -> Sheet:
    """What the reader must know before relying on any of it."""
    job = source.index.plan.job
    waived = [*job.site.waivers, *(w for d in job.doors.values() for w in d.waivers)]
    parts = ("decide", "work", "model", "figures")
    return {
        "kind": "cautions",
        "title": words("sheet.cautions"),
        "about": say("caution"),
        "parts": [
            {"title": words(f"cautions.{p}.title"), "lines": lines(f"cautions.{p}.lines")}
            for p in parts
        ],
        "waivers_title": words("cautions.waived"),
        "waivers": [words("cautions.waiver", {**_until(w)}) for w in waived],
    }


def _until(waiver: object) -> dict[str, str]:
    said = dict(waiver)  # type: ignore[call-overload]  # a mapping of texts
    return {key: str(said.get(key, "–")) for key in ("finding", "reason", "by", "date", "until")}
