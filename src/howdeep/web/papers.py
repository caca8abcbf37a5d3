"""The routes of the papers: quote preview, closing a job."""

from __future__ import annotations

import datetime
from collections.abc import Callable

from flask import Flask, Response, redirect, render_template, request, url_for

from ..interview.desk import Desk
from ..job import write
from ..session import Shop

PAPER_POLICY = ("default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; "
                "frame-ancestors 'none'")
"""The printed page carries its own style sheet; nothing else may run or load."""


def add_papers(app: Flask, shop: Shop, desk_of: Callable[..., Desk]) -> None:
    """Add the routes to the application."""

    @app.get("/job/<name>/quote")
    def quote(name: str):
        from ..quote.build import build_quote
        from ..show.quote_page import quote_page

        desk = desk_of(name, whole=True)
        if shop.prices is None:
            lines = [str(fault) for fault in (shop.price_faults.faults if shop.price_faults else ())]
            return render_template("error.html", title="There is no price list to quote from", lines=lines), 422
        page = quote_page(build_quote(shop.knowledge, desk.answer, shop.prices), shop.knowledge, desk.answer,
                          shop=shop.prices.shop, date=datetime.date.today().isoformat(),
                          back=url_for("job", name=name))
        response = Response(page, mimetype="text/html")
        response.headers["Content-Security-Policy"] = PAPER_POLICY
        return response

    @app.route("/job/<name>/close", methods=["GET", "POST"])
    def close(name: str):
        from ..record.close import close_change

        desk = desk_of(name)
        today = datetime.date.today().isoformat()
        causes = [belief.cause for belief in desk.answer.beliefs]
        if request.method == "GET":
            return render_template("close.html", name=name, desk=desk, causes=causes, today=today, faults=())
        if request.form.get("digest", "") != desk.job.digest:
            return render_template("stale.html", name=name, desk=desk, changes={}, back="close"), 409
        form = request.form
        found = {cause: said for cause in causes if (said := form.get(f"cause.{cause}")) in ("present", "absent")}
        write.save(desk.path, desk.job.digest, close_change(
            shop.knowledge, date=form.get("date") or today, causes=found, scope_done=form.get("scope_done") or None,
            hours=form.get("hours") or None, cost=form.get("cost") or "", came_back=form.get("came_back") or "",
            note=write.clean_text(form.get("note", ""))[:4000]))
        return redirect(url_for("job", name=name), 303)
