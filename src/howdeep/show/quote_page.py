"""Change sheet and build sheets as self-contained pages: no script, no outside resource, fit for Letter and A4."""

from __future__ import annotations

import itertools

from ..model.prices import Letterhead
from ..model.results import Assessment
from ..quote.values import ChangeSheet, Sheets
from .general import general_sentence
from .templates import environment
from .words import STAGES


def change_page(sheet: ChangeSheet, answer: Assessment, currency: str, *, shop: Letterhead | None = None,
                signs: str = "", units: str = "") -> str:
    """The change sheet after teardown."""
    return environment().get_template("change.html").render(sheet=sheet, job=answer.job.job, engine=answer.job.engine,
                                                             currency=currency, shop=shop, signs=signs, units=units,
                                                             general=general_sentence(answer))


def sheets_page(sheets: Sheets, answer: Assessment, *, shop: Letterhead | None = None, signs: str = "",
                units: str = "") -> str:
    """The assembly sheet and the proof sheet, with blanks to fill in."""
    stages = [(STAGES[stage], list(parts)) for stage, parts in itertools.groupby(sheets.parts, lambda part: part.stage)]
    return environment().get_template("sheets.html").render(sheets=sheets, stages=stages, job=answer.job.job,
                                                             engine=answer.job.engine, shop=shop, signs=signs,
                                                             units=units, general=general_sentence(answer))
