"""The estimate as one self-contained page that prints on one sheet of Letter or A4, with its annex where asked for."""

from __future__ import annotations

import functools
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from ..model.prices import Letterhead
from ..quote.estimate_values import Estimate
from ..quote.jobs import is_only
from .annex import Annex
from .depth import depth_picture
from .estimate_words import page_of
from .spoken import AsSaid
from .templates import environment
from .words import ADVICE_SHORT


def estimate_page(
    estimate: Estimate,
    *,
    shop: Letterhead | None = None,
    annex: Annex | None = None,
    notes: Sequence[str] = (),
    back: str = "",
    units: str = "",
    fill: str = "",
    lacking: Sequence[str] = (),
    other: str = "",
) -> str:
    """The page; with `annex` what stands behind it follows on pages of its own. `notes` is what is to be said of the
    prices. `lacking` names those that can be typed at the address `fill`, `back` is the address of the job and `other`
    that of the page with its annex: all are shown on the screen alone."""
    page = page_of(estimate, notes)
    return (
        environment()
        .get_template("estimate.html")
        .render(
            page=page,
            told=AsSaid(page.told),
            shop=shop,
            depth=_depth(estimate),
            back=back,
            other=other,
            units=units,
            fill=fill,
            lacking=lacking,
            short=ADVICE_SHORT,
            used=estimate.used,
            estimate_style=_style(),
            annex=annex,
            found=_found(estimate),
            title=f"{page.title}: {estimate.customer or estimate.engine}",
        )
    )


def _found(estimate: Estimate) -> list[dict[str, Any]]:
    """Rows of what was found; their figures stand in the shop's units already."""
    return [
        {"title": row.title, "read": AsSaid(row.read), "should_be": AsSaid(row.should_be), "past": row.past}
        for row in estimate.found
    ]


def _depth(estimate: Estimate) -> Any:
    from markupsafe import Markup

    job = estimate.proposal
    return Markup(depth_picture(job.rung, only=is_only(job.job)) if job else "")  # drawn by this program


@functools.cache
def _style() -> Any:
    from markupsafe import Markup

    return Markup((Path(__file__).with_name("templates") / "estimate.css").read_text(encoding="utf-8"))
