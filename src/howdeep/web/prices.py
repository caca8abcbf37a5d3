"""The routes of the shop's price list: begun, filled in group by group, and filled in for the quote of one job."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from pathlib import Path

from flask import Flask, abort, redirect, render_template, request, url_for

from ..assessment.session import Shop
from ..clock import date_today
from ..errors import HowdeepError
from ..interview.session import Desk
from ..job.write import clean_text
from ..model.asked import AskedFigure
from ..pricing.asked import groups, question_of
from ..pricing.read import example_prices, load_prices
from ..pricing.standing import counted, standing
from ..pricing.write import create_list, new_list
from ..quote.build import build_quote
from ..quote.lacking import lacking_places
from .guard import Again
from .live import LiveShop, look_again
from .price_form import Taken, rows_of
from .price_saving import refuse_odd, save_prices
from .saving import EXPIRED, fault_lines


def add_prices(app: Flask, shop: Shop, live: LiveShop, desk_of: Callable[..., Desk], again: Again) -> None:
    """Add the routes to the application."""

    def list_page(opened: int = 0, taken: Taken | None = None, faults: tuple[str, ...] = (), *, expired: bool = False):
        if live.begun_prices() is None:
            return render_template("prices_begin.html", faults=faults, form=request.form)
        prices, day = shop.prices, date_today()
        told = [
            (
                group.title,
                rows_of(
                    prices,
                    group.ask,
                    day,
                    request.form if number == opened else {},
                    taken if number == opened else None,
                    typed=expired and number == opened,
                ),
            )
            for number, group in enumerate(groups(shop.knowledge))
        ]
        return render_template(
            "prices.html",
            prices=prices,
            groups=told,
            opened=opened,
            faults=faults,
            taken=taken,
            counted=counted(prices),
            tally=_tally,
            file=live.own_prices().name,
            today=day,
        )

    @app.route("/prices", methods=["GET", "POST"])
    def prices():
        if request.method == "GET":
            return list_page(_first_open(shop))
        try:
            _begin()
        except HowdeepError as error:
            return list_page(faults=fault_lines(error)), 422
        return redirect("/prices", 303)

    def _begin() -> Path:
        """Write a new list of examples under the name and in the currency typed."""
        name = " ".join(clean_text(request.form.get("list.name", ""))[:80].split()) or "Our shop"
        currency = request.form.get("list.currency", "").strip().upper() or "USD"
        if not (len(currency) == 3 and currency.isascii() and currency.isalpha()):
            raise HowdeepError("The currency is three letters, such as USD, CAD, GBP or EUR.")
        path = live.own_prices()
        refuse_odd(path)
        example = load_prices(example_prices(), shop.knowledge)
        create_list(
            path, new_list(shop.knowledge, example, name=f"{name}, prices", currency=currency, date=date_today())
        )
        look_again()
        return path

    @app.post("/prices/<int:number>")
    def save_group(number: int):
        told, path = groups(shop.knowledge), live.begun_prices()
        if not 0 <= number < len(told):
            abort(404, "There is no such group.")
        if path is None:
            return list_page(faults=("There is no price list of your own yet; begin it first.",)), 409
        taken = save_prices(
            path, shop.knowledge, [figure.of for figure in told[number].ask], request.form, date_today()
        )
        look_again()
        if taken.back:
            return list_page(number, taken), 422
        return redirect(f"/prices?saved={number}#group-{_next_open(shop, number)}", 303)

    def job_page(
        name: str, desk: Desk, taken: Taken | None = None, faults: tuple[str, ...] = (), *, expired: bool = False
    ):
        rows = rows_of(
            shop.prices,
            _wanted(shop, desk, taken),
            date_today(),
            request.form,
            taken,
            engine=desk.job.priced_as,
            typed=expired or bool(faults),
        )
        return render_template(
            "job_prices.html",
            name=name,
            desk=desk,
            rows=rows,
            faults=faults,
            taken=taken,
            form=request.form,
            begun=live.begun_prices() is not None,
            example=shop.prices.example,
        )

    @app.route("/job/<name>/prices", methods=["GET", "POST"])
    def job_prices(name: str):
        desk = desk_of(name)
        if request.method == "GET":
            return job_page(name, desk)
        places = [place for place in dict.fromkeys(request.form.getlist("place")) if _is_place(shop, place)]
        try:
            path = live.begun_prices() or _begin()
            taken = save_prices(path, shop.knowledge, places, request.form, date_today(), engine=desk.job.priced_as)
        except HowdeepError as error:
            return job_page(name, desk, faults=fault_lines(error)), 422
        look_again()
        if taken.back:
            return job_page(name, desk_of(name), taken), 422
        return redirect(url_for("quote", name=name), 303)

    again.update(
        {
            "prices": lambda: list_page(faults=(EXPIRED,)),
            "save_group": lambda number: list_page(number, faults=(EXPIRED,), expired=True),
            "job_prices": lambda name: job_page(name, desk_of(name), faults=(EXPIRED,), expired=True),
        }
    )


def lacking(shop: Shop, desk: Desk) -> tuple[str, ...]:
    """Places of the figures that the quote of a job lacks or has only as examples."""
    return lacking_places(build_quote(shop.knowledge, desk.answer, shop.prices))


def _wanted(shop: Shop, desk: Desk, taken: Taken | None) -> Iterable[AskedFigure]:
    """What the form of a job asks for: what its quote lacks now, and what came back."""
    places = dict.fromkeys((*(taken.back if taken else ()), *lacking(shop, desk)))
    return [AskedFigure(place, question_of(shop.knowledge, place)) for place in places]


def _is_place(shop: Shop, place: str) -> bool:
    """Whether a form may name this figure: one that some quote can lack."""
    table, _, name = place.partition(".")
    known: dict[str, Collection[str]] = {"parts": shop.knowledge.parts, "machine": shop.knowledge.machining}
    if table == "engine_parts":
        return name.rpartition(".")[2] in shop.knowledge.parts and name.rpartition(".")[0] in shop.prices.engine_parts
    return (
        name in known[table]
        if table in known
        else any(place == figure.of for group in groups(shop.knowledge) for figure in group.ask)
    )


def _tally(rows: Iterable) -> str:
    """'3 of 15 yours, 1 of them old; 12 examples'."""
    states = [row.standing for row in rows]
    old, mine = states.count("old"), states.count("own") + states.count("old")
    rest = [
        f"{count} {words}"
        for state, words in (("example", "examples"), ("missing", "without a price"))
        if (count := states.count(state))
    ]
    return "; ".join((f"{mine} of {len(states)} yours" + (f", {old} of them old" if old else ""), *rest))


def _open(shop: Shop) -> list[int]:
    """Groups in which something is an example or has grown old."""
    day = date_today()
    return [
        number
        for number, group in enumerate(groups(shop.knowledge))
        if any(standing(shop.prices, figure.of, day) in ("example", "old") for figure in group.ask)
    ]


def _first_open(shop: Shop) -> int:
    return next(iter(_open(shop)), 0)


def _next_open(shop: Shop, number: int) -> int:
    left = _open(shop)
    return next((item for item in left if item >= number), next(iter(left), number))
