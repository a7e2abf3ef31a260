"""Job texts to change, in every layout a file may have."""

from __future__ import annotations

from importlib import resources

from _jobs import job_text
from tests.job.samples import EVERYTHING

COMMENTED = """\
latchwork: 1   # the format
# Who it is for.
site: {name: Öst-Mühle, users: 12}   # counted

usual:   # for all
  out by: lever
  runs: {reader: 2 m of 6 x 0.22 mm²}

supplies:
  S1: {part: supply 24 V, limit: 5.0 A,
       outputs: {1: {fuse: 1.0 A}}}

doors:
  # the front
  D1:
    name: "Front, left leaf"   # 𝄞
    supply: S1 out 1
    lock:   strike 24 V fail-secure   # from stock
    runs:   # walked
      power: 18 m of 2 x 1.0 mm²

      # by the stairs
      exit: about 3 m of 4 x 0.22 mm²

  # the back
  D2:
    lock: {part: magnet 24 V, holds down to: 20.4 V}
    supply: S1
    found:
    - {break: power brown}
    -   short: [power brown, power blue]
        at: 2 m
    runs: { power: 6 m of 2 x 1.0 mm² }
    waivers:
      - finding: F3A90C
        reason: >
          Porter on duty,
          day and night.
        by: the manager
        date: 2026-02-11
"""


def draft() -> str:
    """The demo's draft."""
    file = resources.files("latchwork.demo") / "data" / "draft" / "job.yaml"
    return file.read_text(encoding="utf-8")


def texts() -> dict[str, str]:
    """Job texts by what is special about them."""
    plain = {
        "demo": draft(),
        "everything": EVERYTHING,
        "commented": COMMENTED,
        "generated": job_text(6, seed=5),
    }
    layouts = {}
    for name, text in plain.items():
        layouts[name] = text
        if name == "demo":
            continue
        layouts[f"{name}, CRLF"] = text.replace("\n", "\r\n")
        layouts[f"{name}, no last break"] = text.rstrip("\n")
        layouts[f"{name}, byte order mark"] = f"\ufeff{text}"
    return layouts
