"""The routes of what a job has to print: its papers and the sheets of the bench. Nothing here changes a job."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from flask import Flask, Response, render_template, request, url_for

from ..assessment.session import Shop
from ..clock import date_today
from ..interview.session import Desk
from ..model.terms import RUNGS
from ..quote.estimate_values import Estimate
from ..quote.promised import offered, promise_standing, promised_estimate
from ..quote.values import Quote
from .asked_job import asked_job, is_asked, job_choices
from .card import job_card
from .papers import PAPER_POLICY


def add_sheets(app: Flask, shop: Shop, desk_of: Callable[..., Desk]) -> None:
    """Add the routes to the application."""

    def paper(page: str) -> Response:
        response = Response(page, mimetype="text/html")
        response.headers["Content-Security-Policy"] = PAPER_POLICY
        return response

    def head(name: str, place: str) -> dict[str, Any]:
        return {
            "shop": shop.prices.shop,
            "signs": shop.settings.signs,
            "units": shop.settings.units,
            "back": url_for(place, name=name),
        }

    @app.get("/job/<name>/papers")
    def papers(name: str):
        def blank(which: str) -> str:
            values: dict[str, Any] = {"for": which}  # a word that cannot be the name of an argument
            return url_for("blank_sheet", name=name, **values)

        desk = desk_of(name)
        told = [
            (url_for("quote", name=name), "Estimate", "what it comes to, and why"),
            (url_for("letter", name=name), "Letter", "the same explained to the customer"),
            (url_for("promises", name=name), "Promises", "make one; what was made, as it was made"),
        ]
        told += [
            (
                url_for("changes", name=name, promise=key),
                f"Change sheet since {key}",
                "what was found, what moved, and the customer's yes",
            )
            for key in reversed(desk.job.job.promises)
        ]
        told += [
            (url_for("order_list", name=name), "Order list", "what is ordered once the yes is there, and what waits"),
            (url_for("order_table", name=name), "Order list as a table", "CSV, for a spreadsheet or a supplier"),
            (blank("bench"), "Bench sheet", "to print and fill in by hand"),
            (blank("teardown"), "Teardown sheet", "the same for the open engine"),
        ]
        return render_template(
            "papers.html",
            name=name,
            desk=desk,
            card=job_card(desk, name),
            papers=told,
            title="Papers",
            jobs=job_choices(desk),
            depths=RUNGS,
        )

    @app.get("/job/<name>/prove")
    def prove(name: str):
        desk = desk_of(name)
        found = desk.job.job.found
        told = [
            (url_for("assembly", name=name), "Assembly sheet", "the work in the order of assembly, to print"),
            (url_for("proof", name=name), "Proof sheet", "run-in, and the same tests beside the old readings"),
            (url_for("readings", name=name), "Type the readings of the proof", "the same tests, taken again"),
            (
                url_for("close", name=name),
                "Close this job" if found is None else "What was found",
                "what was really found, and the final bill"
                if found is None
                else f"closed on {found.date}; change it, or write down that it came back",
            ),
        ]
        return render_template(
            "papers.html",
            name=name,
            desk=desk,
            card=job_card(desk, name),
            papers=told,
            title="Prove the work, then close the job",
        )

    @app.get("/job/<name>/letter")
    def letter(name: str):
        from ..show.letter_page import letter_page
        from ..show.paper_parts import letter_of
        from ..show.price_notes import price_notes

        desk = desk_of(name)
        made, estimate = spoken_of(desk)
        told = letter_of(shop.knowledge, desk.answer, estimate, price_notes(made, estimate.date))
        return paper(
            letter_page(
                told,
                made,
                desk.answer,
                date=estimate.date,
                shop=shop.prices.shop,
                number=estimate.number or "",
                units=shop.settings.units,
                back=url_for("papers", name=name),
            )
        )

    def spoken_of(desk: Desk) -> tuple[Quote, Estimate]:
        """The quote and the estimate that a paper speaks of: a promise as made, also where one stands and nothing else
        is asked for; else today's for the job asked for."""
        from ..quote.build import build_quote
        from ..quote.promise import stored

        promise = request.args.get("promise", "") or ("" if is_asked() else promise_standing(desk.job))
        if promise:
            kept = stored(desk.job, promise)
            return promised_estimate(shop.knowledge, desk.answer, kept, shop.prices, shop.settings, desk.path.name)[:2]
        made = build_quote(shop.knowledge, desk.answer, shop.prices, asked_job(desk))
        return made, offered(
            shop.knowledge, desk.answer, made, shop.prices, shop.settings, asked=is_asked(), date=date_today()
        )

    def ordered(desk: Desk) -> str:
        """The key of the job whose parts are ordered."""
        made, _ = spoken_of(desk)
        return made.job or made.rung

    @app.get("/job/<name>/order")
    def order_list(name: str):
        from ..quote.orders import order_of
        from ..show.order_page import order_page

        desk = desk_of(name)
        return paper(
            order_page(
                order_of(shop.knowledge, desk.answer, shop.prices, ordered(desk)),
                desk.answer,
                shop=shop.prices.shop,
                units=shop.settings.units,
                back=url_for("papers", name=name),
            )
        )

    @app.get("/job/<name>/order.csv")
    def order_table(name: str):
        from ..quote.orders import order_csv, order_of

        desk = desk_of(name)
        table = order_csv(order_of(shop.knowledge, desk.answer, shop.prices, ordered(desk)))
        response = Response(table, mimetype="text/csv")
        response.headers["Content-Disposition"] = "attachment; filename=order.csv"
        return response

    @app.get("/job/<name>/sheet/assembly")
    def assembly(name: str):
        from ..quote.sheets import sheets_of
        from ..show.sheet_page import assembly_page

        desk = desk_of(name)
        sheets = sheets_of(shop.knowledge, desk.answer, asked_job(desk), shop.settings.units)
        return paper(assembly_page(sheets, desk.answer, **head(name, "prove")))

    @app.get("/job/<name>/sheet/proof")
    def proof(name: str):
        from ..quote.sheets import sheets_of
        from ..show.sheet_page import proof_page

        desk = desk_of(name)
        sheets = sheets_of(shop.knowledge, desk.answer, asked_job(desk), shop.settings.units)
        return paper(proof_page(sheets, desk.answer, **head(name, "prove")))

    @app.get("/job/<name>/sheet/blank")
    def blank_sheet(name: str):
        from ..interview.to_fill import sheet_to_fill
        from ..show.sheet_page import blank_page

        desk = desk_of(name)
        sheet = sheet_to_fill(shop.knowledge, desk.answer, request.args.get("for", "")[:80], shop.settings.units)
        return paper(
            blank_page(
                sheet, desk.answer, shop=shop.prices.shop, units=shop.settings.units, back=url_for("papers", name=name)
            )
        )
