"""An answer or a reading as a person reads it back."""

from __future__ import annotations

import re
from typing import Any

from ..job.sections import LATER, UNKNOWN
from ..model.observations import Observation


def summary(observation: Observation, plain: Any) -> str:
    """A plain value in a few words."""
    if plain in (None, LATER):
        return "no answer"
    if plain == UNKNOWN:
        return "don't know"
    if isinstance(plain, list):
        plain = dict(enumerate(plain, 1))
    if isinstance(plain, dict):
        return ", ".join(f"{key}: {_with_unit(observation, _line(value))}" for key, value in plain.items())
    return observation.answers.get(str(plain)) or _with_unit(observation, str(plain))


def _with_unit(observation: Observation, text: str) -> str:
    """A bare figure with the unit that it is taken in."""
    if observation.kind != "number" or not observation.unit or not re.fullmatch(r"[-+]?[\d.,]+", text):
        return text
    return f"{text} {'%' if observation.unit == 'percent' else observation.unit}"


def echo(observation: Observation, plain: Any) -> str:
    """What was taken down, in words: 'Smoke when pulling: Black'."""
    if plain == LATER:
        return f"{observation.title}: put off; it comes back once."
    words = summary(observation, plain)
    if isinstance(plain, dict) and observation.kind == "choice":
        words = ", ".join(f"{key}: {observation.answers.get(str(value), str(value))}" for key, value in plain.items())
    return f"{observation.title}: {words}{'' if words.endswith('.') else '.'}"


def _line(value: Any) -> str:
    if isinstance(value, dict):
        return " / ".join(
            f"{row} {', '.join(map(str, cells)) if isinstance(cells, list) else cells}" for row, cells in value.items()
        )
    return str(value)
