"""The sheets of the bench as one self-contained HTML page each."""

from __future__ import annotations

import itertools
from typing import Any, TypedDict, Unpack

from ..model.prices import Letterhead
from ..model.results import Assessment
from ..quote.sheet_values import BlankSheet, SheetPart, Sheets
from .general import general_sentence
from .templates import environment
from .words import STAGES, minutes


class Head(TypedDict, total=False):
    """What stands over every sheet: the shop's letterhead, who signs, its units, and the address of the job, which is
    shown on the screen alone."""

    shop: Letterhead | None
    signs: str
    units: str
    back: str


def assembly_page(sheets: Sheets, answer: Assessment, **head: Unpack[Head]) -> str:
    """The assembly sheet, with blanks to fill in."""
    return rendered("assembly.html", answer, head, sheets=sheets, stages=by_stage(sheets.parts))


def proof_page(sheets: Sheets, answer: Assessment, **head: Unpack[Head]) -> str:
    """The proof sheet: run-in, and the tests before beside blanks for after."""
    return rendered("proof.html", answer, head, sheets=sheets)


def blank_page(sheet: BlankSheet, answer: Assessment, **head: Unpack[Head]) -> str:
    """A sheet to be filled in by hand, one grid in the order of the bench."""
    return rendered(
        "blank.html", answer, head, sheet=sheet, stages=by_stage(sheet.strip), minutes=minutes(sheet.minutes)
    )


def by_stage(parts: tuple[SheetPart, ...]) -> list[tuple[str, list[SheetPart]]]:
    """(heading of a stage, its parts), in order."""
    return [(STAGES[stage], list(group)) for stage, group in itertools.groupby(parts, lambda part: part.stage)]


def rendered(template: str, answer: Assessment, head: Head, **values: Any) -> str:
    """A sheet under the shop's letterhead, in the close print of the bench."""
    made = environment()
    return made.get_template(template).render(
        job=answer.job.job,
        engine=answer.job.engine,
        shop=head.get("shop"),
        signs=head.get("signs", ""),
        units=head.get("units", ""),
        back=head.get("back", ""),
        general=general_sentence(answer),
        style=made.globals["sheet_style"],
        **values,
    )
