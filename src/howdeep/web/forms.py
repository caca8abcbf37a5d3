"""What a form sends, as the plain value of a job file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ..job.sections import LATER, UNKNOWN
from ..job.write import clean_text
from ..model.knowledge import Observation

MOST = 2000


def plain_from_form(observation: Observation, form: Mapping[str, str], count: int, name: str) -> Any:
    """The plain value of one observation from its fields; LATER where nothing was filled in.

    Fields: `NAME` for a single value, `NAME.3` for the third cylinder, `NAME.3.top.0` for a place and an axis;
    `NAME.unit` is put behind a bare number.
    """
    unit = clean_text(form.get(f"{name}.unit", "")).strip()

    def field(key: str) -> str:
        typed = clean_text(form.get(key, ""))[:MOST].strip()
        bare = typed.replace(".", "", 1).replace("-", "", 1).isdigit()
        return f"{typed} {unit}" if bare and unit else typed

    if not observation.each:
        typed = field(name)
        return typed if typed else LATER
    values: dict[int, Any] = {}
    for index in range(1, count + 1):
        if observation.rows:
            columns = len(observation.columns) or 1
            cells = {row: [field(f"{name}.{index}.{row}.{column}") for column in range(columns)]
                     for row in observation.rows}
            if any(any(row) for row in cells.values()):
                values[index] = {row: [cell or UNKNOWN for cell in line] for row, line in cells.items()}
        elif typed := field(f"{name}.{index}"):
            values[index] = typed
    return values or LATER
