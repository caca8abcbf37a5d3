"""The routes of the check of the whole price list: every figure that can hardly be, to be put right in one round."""

from __future__ import annotations

from pathlib import Path

from flask import Flask, redirect, render_template, request

from ..assessment.session import Shop
from ..clock import date_today
from ..errors import HowdeepError
from ..files.strict_yaml import read
from ..model.asked import AskedFigure
from ..pricing.asked import question_of, title_of
from ..pricing.check import check_prices
from ..pricing.doubtful import Doubtful, doubtful
from .guard import Again
from .live import LiveShop, look_again
from .price_form import PRICED, Taken, rows_of
from .price_saving import back_of, save_prices
from .saving import EXPIRED, fault_lines


def add_price_check(app: Flask, shop: Shop, live: LiveShop, again: Again) -> None:
    """Add the routes to the application."""

    def check_page(taken: Taken | None = None, faults: tuple[str, ...] = ()):
        path, today = live.begun_prices(), date_today()
        if path is None:
            return render_template("prices_check.html", begun=False, faults=faults)
        knowledge = live.shop.knowledge  # a list that cannot be used is checked all the same
        try:
            checked = check_prices(path, knowledge, today)
        except HowdeepError as error:  # no YAML, or no list
            return render_template("prices_check.html", begun=True, broken=error.faults, faults=faults, file=path.name)
        asked = {} if checked.faults else doubtful_in(path)
        back = {place: back_of(doubt) for place, doubt in asked.items()}
        form = Taken(0, {**back, **(taken.back if taken else {})})
        rows = (
            rows_of(
                shop.prices,
                [
                    AskedFigure(place, question_of(knowledge, place))
                    for place in form.back
                    if place.partition(".")[0] in PRICED
                ],
                today,
                request.form,
                form,
            )
            if asked
            else []
        )
        others = [
            (place, title_of(knowledge, place), doubt)
            for place, doubt in asked.items()
            if place.partition(".")[0] not in PRICED
        ]
        dated = (
            checked.questions
            if checked.faults
            else [
                fault for fault in checked.questions if not any(doubt.why == fault.message for doubt in asked.values())
            ]
        )
        return render_template(
            "prices_check.html",
            begun=True,
            checked=checked,
            rows=rows,
            others=others,
            dated=dated,
            file=path.name,
            faults=faults,
            saved=taken.saved if taken else None,
            missing=[title_of(knowledge, place) for place in checked.missing],
        )

    def doubtful_in(path: Path) -> dict[str, Doubtful]:
        document = read(path)
        return doubtful(document, document.value, live.shop.knowledge)

    @app.route("/prices/check", methods=["GET", "POST"])
    def price_check():
        path = live.begun_prices()
        if request.method == "GET" or path is None:
            return check_page()
        try:
            places = [place for place in doubtful_in(path) if place in request.form.getlist("place")]
            taken = save_prices(path, shop.knowledge, places, request.form, date_today())
        except HowdeepError as error:
            return check_page(faults=fault_lines(error)), 422
        look_again()
        if taken.back:
            return check_page(taken), 422
        return redirect("/prices/check", 303)

    again["price_check"] = lambda: check_page(faults=(EXPIRED,))


__all__ = ["add_price_check"]
