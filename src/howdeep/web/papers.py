"""The routes of the papers: quote preview, closing a job."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import asdict

from flask import Flask, Response, redirect, render_template, request, url_for

from ..assessment.session import Shop
from ..clock import date_today
from ..errors import HowdeepError, StaleFile
from ..interview.session import Desk
from ..job import write
from ..pricing.asked import title_of
from .asked_job import ANNEX, SHOP_COPY, asked_job, beside, carried, is_asked, two_step
from .forms import with_point
from .guard import Again
from .saving import BUSY, EXPIRED, TRIES, fault_lines, lock_of
from .sends import saving

PAPER_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'"
)
"""The printed page carries its own style sheet; nothing else may run or load."""


def add_papers(app: Flask, shop: Shop, desk_of: Callable[..., Desk], again: Again) -> None:
    """Add the routes to the application."""

    @app.get("/job/<name>/quote")
    def quote(name: str):
        from ..quote.build import build_quote
        from ..quote.lacking import lacking_places
        from ..quote.promised import offered
        from ..show.annex import annex_of
        from ..show.estimate_page import estimate_page
        from ..show.price_notes import price_notes

        desk = desk_of(name, need="whole")
        today, units = date_today(), shop.settings.units
        made = build_quote(shop.knowledge, desk.answer, shop.prices, asked_job(desk), two_step=two_step())
        rung = beside(desk)
        other = build_quote(shop.knowledge, desk.answer, shop.prices, rung) if rung else None
        estimate = offered(shop.knowledge, desk.answer, made, shop.prices, shop.settings, asked=is_asked(), date=today)
        lacking = [title_of(shop.knowledge, place) for place in lacking_places(made)]
        shop_copy = SHOP_COPY in request.args
        with_annex = ANNEX in request.args or shop_copy
        behind = (
            annex_of(
                made, shop.knowledge, desk.answer, estimate, shop_copy=shop_copy, compare=other, date=today, units=units
            )
            if with_annex or other
            else None
        )
        page = estimate_page(
            estimate,
            lacking=lacking,
            fill=url_for("job_prices", name=name),
            shop=shop.prices.shop,
            annex=behind,
            units=units,
            notes=price_notes(made, today),
            back=url_for("papers" if request.args else "job", name=name),
            other="" if with_annex else url_for("quote", name=name, annex="yes", **carried()),
        )
        response = Response(page, mimetype="text/html")
        response.headers["Content-Security-Policy"] = PAPER_POLICY
        return response

    def close_page(name: str, desk: Desk, faults: tuple[str, ...] = ()):
        causes = [belief.cause for belief in desk.answer.beliefs]
        return render_template(
            "close.html",
            name=name,
            desk=desk,
            causes=causes,
            form=request.form,
            said_of=[cause for cause in causes if request.form.get(f"cause.{cause}")],
            faults=faults,
            today=date_today(),
            found_before=_found(desk),
        )

    @app.route("/job/<name>/close", methods=["GET", "POST"])
    def close(name: str):
        from ..record.close import close_change

        desk = desk_of(name, need="talk")
        if request.method == "GET":
            return close_page(name, desk)
        form = request.form
        found = {
            cause: said
            for cause in shop.knowledge.causes
            if (said := form.get(f"cause.{cause}")) in ("present", "absent")
        }
        with lock_of(desk.path):
            for _ in range(TRIES):
                desk = desk_of(name, need="talk")
                if form.get("was.found", "") != _found(desk):
                    return close_page(
                        name,
                        desk,
                        (
                            "Somebody else closed this job meanwhile. What they wrote: " + _in_words(shop, desk),
                            "What you typed stands below; save again to put it over theirs.",
                        ),
                    ), 409
                try:
                    change = close_change(
                        shop.knowledge,
                        date=form.get("date") or date_today(),
                        causes=found,
                        scope_done=form.get("scope_done") or None,
                        hours=with_point(form.get("hours", "").strip()) or None,
                        cost=with_point(form.get("cost", "").strip()),
                        came_back=form.get("came_back") or "",
                        note=write.clean_text(form.get("note", ""))[:4000],
                    )
                    with saving(url_for("job", name=name)):
                        write.save(desk.path, desk.job.digest, change)
                    return redirect(url_for("job", name=name), 303)
                except StaleFile:
                    continue
                except HowdeepError as error:
                    return close_page(name, desk, fault_lines(error)), 422
        return close_page(name, desk, (BUSY,)), 409

    again["close"] = lambda name: close_page(name, desk_of(name, need="talk"), (EXPIRED,))


def _found(desk: Desk) -> str:
    """What the job says was found, as a form carries it."""
    found = desk.job.job.found
    return json.dumps(asdict(found), sort_keys=True) if found else ""


def _in_words(shop: Shop, desk: Desk) -> str:
    found = desk.job.job.found
    if found is None:
        return "nothing any more."
    said = [found.date, *(f"{shop.knowledge.causes[cause].title} {truth}" for cause, truth in found.causes.items())]
    said += [shop.knowledge.scopes[found.scope_done].title] if found.scope_done else []
    said += [f"{found.hours:g} h"] if found.hours is not None else []
    came_back = f"came back: {found.came_back}" if found.came_back else ""
    return "; ".join((*said, *filter(None, (found.cost, came_back, found.note)))) + "."
