"""The sheets of the bench as one self-contained HTML page each."""

from __future__ import annotations

import itertools
from typing import Any

from ..model.prices import Letterhead
from ..model.results import Assessment
from ..quote.sheet_values import BlankSheet, SheetPart, Sheets
from .general import general_sentence
from .templates import environment
from .words import STAGES, minutes


def assembly_page(
    sheets: Sheets,
    answer: Assessment,
    *,
    shop: Letterhead | None = None,
    signs: str = "",
    units: str = "",
    back: str = "",
) -> str:
    """The assembly sheet, with blanks to fill in."""
    return rendered(
        "assembly.html", answer, shop, signs, units, back=back, sheets=sheets, stages=by_stage(sheets.parts)
    )


def proof_page(
    sheets: Sheets,
    answer: Assessment,
    *,
    shop: Letterhead | None = None,
    signs: str = "",
    units: str = "",
    back: str = "",
) -> str:
    """The proof sheet: run-in, and the tests before beside blanks for after."""
    return rendered("proof.html", answer, shop, signs, units, back=back, sheets=sheets)


def blank_page(
    sheet: BlankSheet,
    answer: Assessment,
    *,
    shop: Letterhead | None = None,
    signs: str = "",
    units: str = "",
    back: str = "",
) -> str:
    """A sheet to be filled in by hand, one grid in the order of the bench."""
    return rendered(
        "blank.html",
        answer,
        shop,
        signs,
        units,
        back=back,
        sheet=sheet,
        stages=by_stage(sheet.strip),
        minutes=minutes(sheet.minutes),
    )


def by_stage(parts: tuple[SheetPart, ...]) -> list[tuple[str, list[SheetPart]]]:
    """(heading of a stage, its parts), in order."""
    return [(STAGES[stage], list(group)) for stage, group in itertools.groupby(parts, lambda part: part.stage)]


def rendered(template: str, answer: Assessment, shop: Letterhead | None, signs: str, units: str, **values: Any) -> str:
    """A sheet under the shop's letterhead, in the close print of the bench. The value `back` is the address of the job,
    shown on the screen alone."""
    made = environment()
    return made.get_template(template).render(
        job=answer.job.job,
        engine=answer.job.engine,
        shop=shop,
        signs=signs,
        units=units,
        general=general_sentence(answer),
        style=made.globals["sheet_style"],
        **values,
    )
