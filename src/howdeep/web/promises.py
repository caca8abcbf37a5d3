"""The routes of a promise: made, shown as it was made, the change sheet since, and the yes typed below it."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

from flask import Flask, Response, render_template, request, url_for

from ..assessment.session import Shop
from ..clock import date_today
from ..errors import Held, HowdeepError
from ..interview.session import Desk
from ..job import write
from ..quote.estimate_values import Estimate
from ..quote.values import ChangeSheet, Quote
from ..show.words import money
from .asked_job import asked_job, carried, is_asked, job_choices, two_step
from .card import job_card
from .decisions import HOW
from .guard import Again
from .live import LiveShop
from .papers import PAPER_POLICY
from .saving import EXPIRED, Moved, in_turn
from .sends import saving

_TIME = re.compile(r"([01]\d|2[0-3]):[0-5]\d")
_ID = re.compile(r"^held by \w+: ")
"""What a command names a hold by; the page has a tick for it."""
MOST_NAME = 60


def add_promises(app: Flask, shop: Shop, live: LiveShop, desk_of: Callable[..., Desk], again: Again) -> None:
    """Add the routes to the application."""
    app.jinja_env.filters["sum_in"] = _sum_in
    from ..quote.build import build_quote
    from ..quote.change_sheet import change_sheet, keeping_yes, said_of
    from ..quote.estimate import estimate_of
    from ..quote.held import refuse_promise
    from ..quote.numbered import content_of, estimate_content, give_number, number_of
    from ..quote.promise import free_name, promise_of, stored, storing
    from ..quote.promised import offered, promised_estimate
    from ..show.price_notes import price_notes

    def quote_of(desk: Desk) -> Quote:
        return build_quote(shop.knowledge, desk.answer, shop.prices, asked_job(desk), two_step=two_step())

    def today_of(desk: Desk, quote: Quote) -> Estimate:
        return offered(
            shop.knowledge, desk.answer, quote, shop.prices, shop.settings, asked=is_asked(), date=date_today()
        )

    def sheet_of(desk: Desk, promise: str) -> ChangeSheet:
        sheet = change_sheet(shop.knowledge, desk.answer, shop.prices, promise)
        return replace(sheet, number=number_of(desk.job.job, content_of(said_of(sheet))))

    def paper(page: str) -> Response:
        response = Response(page, mimetype="text/html")
        response.headers["Content-Security-Policy"] = PAPER_POLICY
        return response

    def promises_page(name: str, desk: Desk, faults: tuple[str, ...] = ()):
        quote, made = quote_of(desk), []
        for key, promise in reversed(desk.job.job.promises.items()):
            lost = promise.get("lost", "") if isinstance(promise, dict) else "cannot be read"
            plain = promise.get("quote", {}) if not lost else {}
            made.append(
                (
                    key,
                    lost,
                    str(promise.get("date", "")),
                    str(plain.get("title", "")),
                    plain.get("total"),
                    str(plain.get("currency", "")),
                )
            )
        return render_template(
            "promises.html",
            name=name,
            desk=desk,
            card=job_card(desk, name),
            faults=faults,
            made=made,
            quote=quote,
            notes=price_notes(quote, date_today()),
            jobs=job_choices(desk),
            carried=carried(),
            held=_held(shop, desk, quote),
            form=request.form,
            today=date_today(),
            number=today_of(desk, quote).number or "",
            numbers=shop.settings.next_number is not None,
        )

    @app.route("/job/<name>/promises", methods=["GET", "POST"])
    def promises(name: str):
        desk = desk_of(name)
        if request.method == "GET":
            return promises_page(name, desk)
        wanted = write.clean_text(request.form.get("promise", "")).strip()[:MOST_NAME]

        def make(desk: Desk) -> str:
            quote = quote_of(desk)
            refuse_promise(shop.knowledge, desk.answer, shop.prices, quote.job, quote.enough)
            if quote.total is None:
                raise HowdeepError("Some lines have no price, so there is no total to promise; type the prices first.")
            if request.form.get("was.total", "") != f"{quote.total:.2f}":
                raise Moved(f"The estimate comes to {quote.total:,.2f} by now. Look it over and save again.")
            if wanted:
                storing(wanted, {})({"promises": desk.job.job.promises})  # a name that is taken takes no number
            estimate = estimate_of(
                shop.knowledge,
                desk.answer,
                quote,
                shop.prices,
                shop.settings,
                promised=True,
                date=date_today(),
                units=shop.settings.units,
            )
            number, digest = give_number(
                live.own_settings(),
                shop.knowledge,
                desk.path,
                desk.job,
                "estimate",
                estimate_content(quote, estimate),
                quote.total,
            )
            key = wanted or free_name(desk.job.job.promises, number)
            estimate = replace(estimate, number=number or None)
            after = url_for("promises", name=name)
            with saving(after):
                write.save(
                    desk.path,
                    digest,
                    storing(key, promise_of(shop.knowledge, desk.answer, quote, date_today(), estimate, number=number)),
                )
            return after

        return saved(name, make, promises_page)

    @app.post("/job/<name>/number")
    def number(name: str):
        def numbered(desk: Desk) -> str:
            quote = quote_of(desk)
            give_number(
                live.own_settings(),
                shop.knowledge,
                desk.path,
                desk.job,
                "estimate",
                estimate_content(quote, today_of(desk, quote)),
                quote.total,
            )
            return url_for("quote", name=name, **carried())

        return saved(name, numbered, promises_page)

    @app.get("/job/<name>/promise/<promise>")
    def promise_made(name: str, promise: str):
        from ..show.estimate_page import estimate_page

        desk = desk_of(name)
        kept = stored(desk.job, promise)
        made, estimate, _ = promised_estimate(
            shop.knowledge, desk.answer, kept, shop.prices, shop.settings, desk.path.name
        )
        return paper(
            estimate_page(
                estimate,
                shop=shop.prices.shop,
                units=shop.settings.units,
                notes=price_notes(made, estimate.date),
                back=url_for("promises", name=name),
            )
        )

    def changes_page(name: str, desk: Desk, promise: str, faults: tuple[str, ...] = ()):
        now = datetime.datetime.now()
        return render_template(
            "changes.html",
            name=name,
            desk=desk,
            card=job_card(desk, name),
            promise=promise,
            faults=faults,
            how=HOW,
            sheet=sheet_of(desk, promise),
            currency=shop.prices.currency,
            form=request.form,
            today=now.date().isoformat(),
            now=now.strftime("%H:%M"),
        )

    @app.get("/job/<name>/changes/<promise>")
    def changes(name: str, promise: str):
        return changes_page(name, desk_of(name), promise)

    @app.get("/job/<name>/changes/<promise>/paper")
    def changes_paper(name: str, promise: str):
        from ..files.small_picture import small_picture
        from ..job.kept import photo_folder
        from ..show.change_page import change_page

        desk = desk_of(name)
        sheet = sheet_of(desk, promise)
        beside = photo_folder(desk.path)
        pictures = {photo.file: small_picture(beside / Path(photo.file).name) for photo in sheet.photos}
        return paper(
            change_page(
                sheet,
                desk.answer,
                shop.prices.currency,
                shop=shop.prices.shop,
                signs=shop.settings.signs,
                units=shop.settings.units,
                pictures=pictures,
                back=url_for("changes", name=name, promise=promise),
            )
        )

    @app.post("/job/<name>/approve")
    def approve(name: str):
        form = {key: write.clean_text(value).strip()[:200] for key, value in request.form.items()}
        promise = form.get("promise", "")

        def say_yes(desk: Desk) -> str:
            sheet = sheet_of(desk, promise)
            if not form.get("by") or form.get("how") not in HOW:
                raise HowdeepError("Say who said yes, and how.")
            if not _TIME.fullmatch(form.get("time", "")):
                raise HowdeepError(f"'{form.get('time', '')[:20]}' is not a time such as 14:30.")
            try:
                datetime.date.fromisoformat(form.get("date", ""))
            except ValueError:
                raise HowdeepError(f"'{form.get('date', '')[:20]}' is not a date such as 2026-01-31.") from None
            if sheet.total_after is None:
                raise HowdeepError("The change sheet has no total, for prices are missing; type them first.")
            if form.get("was.total", "") != f"{sheet.total_after:.2f}":
                raise Moved(
                    f"The sheet comes to {sheet.total_after:,.2f} by now; nothing was recorded. Read it again "
                    "to the customer."
                )
            number, digest = give_number(
                live.own_settings(),
                shop.knowledge,
                desk.path,
                desk.job,
                "change sheet",
                content_of(said_of(sheet)),
                sheet.total_after,
            )
            change, _ = keeping_yes(
                desk.path,
                replace(sheet, number=number),
                by=form["by"],
                how=form["how"],
                date=form["date"],
                time=form["time"],
                promise=sheet.promise,
            )
            after = url_for("changes", name=name, promise=promise)
            with saving(after):
                write.save(desk.path, digest, change)
            return after

        return saved(name, say_yes, lambda name, desk, faults: changes_page(name, desk, promise, faults))

    def saved(name: str, step: Callable[[Desk], str], shown: Callable):
        return in_turn(name, desk_of, step, shown)

    again["promises"] = lambda name: promises_page(name, desk_of(name), (EXPIRED,))
    again["number"] = lambda name: promises_page(name, desk_of(name), (EXPIRED,))
    again["approve"] = lambda name: changes_page(name, desk_of(name), request.form.get("promise", ""), (EXPIRED,))


def _held(shop: Shop, desk: Desk, quote: Quote) -> tuple[str, ...]:
    """What stands before a promise of today's estimate."""
    from ..quote.held import refuse_promise

    try:
        refuse_promise(shop.knowledge, desk.answer, shop.prices, quote.job, quote.enough)
    except Held as held:
        return tuple(_ID.sub("", fault.message) for fault in held.faults)
    return ()


def _sum_in(amount: Any, currency: str) -> str:
    """A sum, also one that a promise holds as text, as it is shown."""
    try:
        return money(None if amount is None else Decimal(str(amount)), currency)
    except ArithmeticError:
        return "no sum"
