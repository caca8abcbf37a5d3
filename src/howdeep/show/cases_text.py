"""How the worked cases went."""

from __future__ import annotations

from ..cases.run import CaseResult
from .as_json import SHAPE, plain, text_of


def cases_text(results: list[CaseResult]) -> str:
    """One line a failure, and a closing count."""
    lines = []
    for result in results:
        lines += [f"FAILED  {result.name}: {failure}" for failure in result.failures]
        if result.moved:
            lines.append(f"MOVED   {result.name}: {result.moved}")
        if result.known_gap and not result.failures:
            lines.append(f"gap     {result.name}: {result.known_gap}")
    bad, moved = sum(bool(result.failures) for result in results), sum(bool(result.moved) for result in results)
    summary = f"{len(results)} cases: {len(results) - bad} hold, {bad} fail"
    if moved:
        summary += f"; the figures of {moved} have moved: read them, then howdeep cases --keep-figures"
    lines.append(f"{summary}.")
    return "\n".join(lines)


def cases_json(results: list[CaseResult]) -> str:
    """The same as JSON."""
    return text_of({"howdeep_cases": SHAPE, "cases": plain(results)})
