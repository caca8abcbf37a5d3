"""What a check of an engine sheet found, for a terminal and as JSON."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from pathlib import Path

from ..sheets.check import Checked
from ..sheets.check_found import Understood
from .as_json import text_of
from .fault_lines import WIDTH, fault_lines, fault_shape, found_lines


def check_lines(file: Path, checked: Checked, done: Sequence[Understood] = ()) -> Iterator[str]:
    """Faults first, then what is questioned, then what was understood; each where it stands in the file."""
    if done:
        yield f"Written the sheet's way into {file}: {len(done)}"
        for item in done:
            yield from fault_lines(item.fault)
    yield from found_lines(checked.faults, checked.questions)
    if checked.understood:
        yield f"Understood, and written otherwise in a sheet: {len(checked.understood)}"
        for item in checked.understood:
            yield from fault_lines(item.fault)
        yield from textwrap.wrap(f"'howdeep engine check {file} --write' writes them the sheet's way.", WIDTH)
    if checked.clean:
        yield f"{file}: sound." + (
            f" {len(checked.assumed)} words are as is usual: nobody has looked." if checked.assumed else ""
        )
    elif any("is missing" in fault.message for fault in checked.faults):
        yield from textwrap.wrap(
            "'--write --usual' fills missing words of the build in as is usual for such an engine, and names "
            "them under 'assumed'; 'howdeep engine new NAME' asks for them one by one.",
            WIDTH,
        )


def check_json(file: Path, checked: Checked, done: Sequence[Understood] = ()) -> str:
    """The same in its documented shape."""
    return text_of(
        {
            "howdeep_sheet_check": 1,
            "file": str(file),
            "clean": checked.clean,
            "faults": [fault_shape(fault) for fault in checked.faults],
            "questions": [fault_shape(fault) for fault in checked.questions],
            "understood": [fault_shape(item.fault) for item in checked.understood],
            "written": [fault_shape(item.fault) for item in done],
            "assumed": list(checked.assumed),
        }
    )
