"""Where a job stands, read off its file alone: what a list can say without reasoning about it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

from ..knowledge.questions import TOGETHER_AGAIN
from ..model.job import Job

Standing = Literal["new", "asked", "tested", "waits for a yes", "promised", "open", "closed", "came back"]


def standing_of(plain: Mapping[str, Any]) -> Standing:
    """The furthest that a job has come, from the content of its file."""
    found = plain.get("found")
    if found:
        return "came back" if isinstance(found, Mapping) and found.get("came_back") == "yes" else "closed"
    seen = plain.get("teardown")
    if seen and not (isinstance(seen, Mapping) and seen.get(TOGETHER_AGAIN) in ("yes", True)):
        return "open"
    if plain.get("promises"):
        return "promised" if plain.get("approvals") else "waits for a yes"
    if plain.get("readings"):
        return "tested"
    return "asked" if plain.get("answers") else "new"


def job_standing(job: Job) -> Standing:
    """The same of a job that was read."""
    return standing_of(
        {
            "found": {"came_back": job.found.came_back} if job.found else None,
            "teardown": job.teardown,
            "promises": job.promises,
            "approvals": job.approvals,
            "readings": job.readings,
            "answers": job.answers,
        }
    )


__all__ = ["Standing", "job_standing", "standing_of"]
