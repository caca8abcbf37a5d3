"""The change sheet as one self-contained HTML page."""

from __future__ import annotations

from collections.abc import Mapping

from ..model.prices import Letterhead
from ..model.results import Assessment
from ..quote.values import ChangeSheet
from .general import general_sentence
from .templates import environment


def change_page(
    sheet: ChangeSheet,
    answer: Assessment,
    currency: str,
    *,
    shop: Letterhead | None = None,
    signs: str = "",
    units: str = "",
    pictures: Mapping[str, str] | None = None,
    form: str = "",
    back: str = "",
) -> str:
    """The change sheet after teardown. `pictures` maps a photograph's file to its data address; `form` is markup of
    this program for the screen, where the yes is typed, and `back` the address of the job."""
    return (
        environment()
        .get_template("change.html")
        .render(
            sheet=sheet,
            job=answer.job.job,
            engine=answer.job.engine,
            currency=currency,
            shop=shop,
            signs=signs,
            units=units,
            general=general_sentence(answer),
            form=form,
            back=back,
            pictures=pictures or {},
        )
    )
