"""The figures that a worked case gave when they were last read and kept: what a change of the rule base moves.

A case's expectations say what must be so. Its figures say what is so: every conclusion, the odds, the chance that each
scope is enough and its price. They are not judged right; they are kept beside the cases so that a change cannot move
them unseen. Whoever changes the rule base reads what moved and keeps the new figures.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from ..errors import Fault, HowdeepError
from ..model.results import Assessment
from ..model.truth import Truth

FILE = "figures.json"
VERSION = 1
KINDS = frozenset(
    {"scope", "present", "absent", "odds", "enough", "price", "in_the_end", "work", "holds", "contradictions"}
)
LEAST_ODDS = 0.001
"""Less probable causes are not kept, and chances below it are one."""
CLOSE = 0.006
"""Figures that differ by no more than this share are the same: three digits are kept."""
MOST_SAID = 6

Figures = dict[str, Any]


def figures_of(answer: Assessment) -> Figures:
    """The figures of one answer, in order; odds and chances in percent, three digits."""
    findings = answer.conclusions.findings
    rung = answer.decision.rung
    return {
        "scope": rung,
        "present": sorted(name for name, truth in findings.items() if truth is Truth.PRESENT),
        "absent": sorted(name for name, truth in findings.items() if truth is Truth.ABSENT),
        "odds": {
            belief.cause: _percent(belief.posterior)
            for belief in sorted(answer.beliefs, key=lambda b: b.cause)
            if belief.posterior >= LEAST_ODDS
        },
        "enough": {line.rung: _percent(max(line.enough, LEAST_ODDS)) for line in answer.decision.ladder},
        "price": {line.rung: None if line.price is None else f"{line.price:.2f}" for line in answer.decision.ladder},
        "in_the_end": {
            line.rung: None if line.expected is None else f"{line.expected:.0f}" for line in answer.decision.ladder
        },
        "work": sorted(item.operation + (" if found" if item.if_found else "") for item in answer.works[rung].items),
        "holds": {hold.hold: f"{hold.state} above {hold.above}" for hold in answer.holds},
        "contradictions": sorted(answer.contradictions),
    }


def _percent(share: float) -> float:
    return float(f"{100 * share:.3g}")


def moved(kept: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    """Every figure that is no longer what was kept."""
    if kept["scope"] != now["scope"]:
        yield f"scope {kept['scope']} -> {now['scope']}"
    before, after = ({name: truth for truth in ("present", "absent") for name in side[truth]} for side in (kept, now))
    for name in sorted({*before, *after}):
        if before.get(name) != after.get(name):
            yield f"finding {name} {before.get(name, 'not known')} -> {after.get(name, 'not known')}"
    for kind in ("odds", "enough"):
        for name in sorted({*kept[kind], *now[kind]}):
            one, two = (max(side[kind].get(name, 0.0), 100 * LEAST_ODDS) for side in (kept, now))
            if abs(one - two) > CLOSE * max(one, two):
                yield f"{kind} {name} {one:g} % -> {two:g} %"
    for kind in ("price", "in_the_end", "holds"):
        for name in sorted({*kept[kind], *now[kind]}):
            if kept[kind].get(name) != now[kind].get(name):
                yield f"{kind} {name} {kept[kind].get(name) or 'none'} -> {now[kind].get(name) or 'none'}"
    for kind in ("work", "contradictions"):
        one, two = set(kept[kind]), set(now[kind])
        yield from (f"{kind} without {name}" for name in sorted(one - two))
        yield from (f"{kind} with {name}" for name in sorted(two - one))


def said(moves: list[str]) -> str:
    """What moved, in one line."""
    more = f"; and {len(moves) - MOST_SAID} more" if len(moves) > MOST_SAID else ""
    return f"figures moved: {'; '.join(moves[:MOST_SAID])}{more}"


def read_figures(folder: Path) -> dict[str, Figures]:
    """Case -> figures kept beside the cases of a folder; empty where none are kept. Raises HowdeepError."""
    path = Path(folder) / FILE
    if not path.exists():
        return {}
    try:
        kept = json.loads(path.read_text(encoding="utf-8"))
        if kept["howdeep_case_figures"] != VERSION:
            raise HowdeepError(
                Fault(
                    str(path),
                    0,
                    0,
                    f"version {kept['howdeep_case_figures']} is not {VERSION}: keep "
                    "the figures again (howdeep cases --keep-figures)",
                )
            )
        if any(set(figures) != KINDS for figures in kept["cases"].values()):
            raise KeyError
        return dict(kept["cases"])
    except json.JSONDecodeError as error:
        raise HowdeepError(Fault(str(path), error.lineno, error.colno, f"is not JSON: {error.msg}")) from None
    except (KeyError, TypeError, UnicodeDecodeError):
        raise HowdeepError(
            Fault(str(path), 0, 0, "is not a file of figures: keep them again (howdeep cases --keep-figures)")
        ) from None


def figures_readable(folder: Path) -> bool:
    """Whether the figures kept beside the cases can be read, or there are none."""
    try:
        read_figures(folder)
    except HowdeepError:
        return False
    return True


def write_figures(folder: Path, figures: Mapping[str, Figures]) -> Path:
    """Write the figures beside the cases, a line for each kind, so that a change shows line by line."""
    cases = []
    for name in sorted(figures):
        lines = ",\n".join(f"      {json.dumps(kind)}: {json.dumps(value)}" for kind, value in figures[name].items())
        cases.append(f"    {json.dumps(name)}: {{\n{lines}\n    }}")
    path = Path(folder) / FILE
    path.write_text(
        f'{{\n  "howdeep_case_figures": {VERSION},\n  "cases": {{\n' + ",\n".join(cases) + "\n  }\n}\n",
        encoding="utf-8",
    )
    return path
