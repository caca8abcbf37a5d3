"""Where an observation stands in a job file."""

from __future__ import annotations

from typing import Literal

from ..model.observations import Observation

Section = Literal["answers", "readings", "teardown"]
SECTIONS: tuple[Section, ...] = ("answers", "readings", "teardown")
_SECTION_OF: dict[str, Section] = {"talk": "answers", "test": "readings", "teardown": "teardown"}

MAX_JOB_BYTES = 1_000_000
"""A larger file is no job: it is neither read nor written."""

UNKNOWN = "unknown"
"""The answer "don't know": asked, and no evidence of anything."""
LATER = "later"
"""The answer "not now": to be asked again."""


def section_of(observation: Observation) -> Section:
    """What is said stands under answers, what is tested under readings, what is measured open under teardown."""
    return _SECTION_OF[observation.moment]
