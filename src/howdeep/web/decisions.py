"""The routes of what no question asks for: the place of the tests, and a check that somebody decided not to make."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import asdict
from typing import Any

from flask import Flask, render_template, request, url_for

from ..assessment.session import Shop
from ..clock import date_today
from ..errors import HowdeepError
from ..interview.session import Desk
from ..job import write
from ..job.decide import PLACE, placing, waiving
from ..model.frozen import dataclass
from ..model.job import OTHER_WAIVERS, Waiver
from ..quote.held import before_promise, hold_words
from .forms import typed_text, with_point, with_unit
from .guard import Again
from .saving import EXPIRED, Moved, in_turn
from .sends import saving

PLACE_UNITS = {"altitude": (("ft", "ft"), ("m", "m")), "air_temperature": (("degF", "°F"), ("degC", "°C"))}
"""Field -> (unit, how it is shown)."""
HOW = ("in person", "by telephone", "in writing")


@dataclass(frozen=True, slots=True)
class Offer:
    """One thing that stands before a promise and can be waived."""

    waiver: str
    title: str
    why: str


def add_decisions(app: Flask, shop: Shop, desk_of: Callable[..., Desk], again: Again) -> None:
    """Add the routes to the application."""
    app.jinja_env.globals.update(PLACE_UNITS=PLACE_UNITS, waiver_line=waiver_line)

    def place_page(name: str, desk: Desk, faults: tuple[str, ...] = ()):
        given = asdict(desk.job.job.place)
        shown = {field: request.form.get(field, given[field]) for field, *_ in PLACE}
        return render_template(
            "place.html", name=name, desk=desk, shown=shown, form=request.form, faults=faults, was=_place(desk)
        )

    @app.route("/job/<name>/place", methods=["GET", "POST"])
    def place(name: str):
        desk = desk_of(name, need="talk")
        if request.method == "GET":
            return place_page(name, desk)
        given = place_given(request.form)

        def change(desk: Desk):
            if request.form.get("was.place", "") != _place(desk):
                said = ", ".join(text for text in asdict(desk.job.job.place).values() if text) or "nothing"
                raise Moved(
                    f"Somebody else set the place meanwhile: {said}. What you typed stands below; save again "
                    "to put it over theirs."
                )
            return placing(without=[field for field, text in given.items() if not text], **given)

        return _saved(name, change, place_page)

    def waive_page(name: str, desk: Desk, faults: tuple[str, ...] = ()):
        job = desk.job.job
        return render_template(
            "waive.html",
            name=name,
            desk=desk,
            offers=_offers(shop, desk),
            faults=faults,
            how=HOW,
            form=request.form,
            chosen=chosen_holds(),
            was=_waived(desk),
            today=date_today(),
            waived=[(_waived_title(shop, desk, key), waiver) for key, waiver in job.waived.items()],
        )

    @app.route("/job/<name>/waive", methods=["GET", "POST"])
    def waive(name: str):
        desk = desk_of(name)
        if request.method == "GET":
            return waive_page(name, desk)
        form = {key: write.clean_text(value).strip() for key, value in request.form.items()}

        def change(desk: Desk):
            if form.get("was.waived", "") != _waived(desk):
                raise Moved(
                    "Somebody else waived a check of this job meanwhile; it stands below. What you typed is "
                    "still here: look it over and save again."
                )
            holds, offered = chosen_holds(), {offer.waiver for offer in _offers(shop, desk)}
            if not holds:
                raise HowdeepError("Choose what is gone on without.")
            for hold in holds:
                if hold not in offered:
                    raise HowdeepError(f"'{hold[:80]}' does not stand before a promise, so it need not be waived.")
            if not form.get("by") or not form.get("how"):
                raise HowdeepError("Say who decided, and how.")
            steps = [
                waiving(
                    hold,
                    by=form["by"],
                    how=form["how"],
                    reason=form.get("reason", ""),
                    date=form.get("date") or date_today(),
                )
                for hold in holds
            ]

            def all_of_them(plain: dict[str, Any]) -> dict[str, Any]:
                for step in steps:
                    plain = step(plain)
                return plain

            return all_of_them

        return _saved(name, change, waive_page)

    def _saved(name: str, change: Callable[[Desk], write.Change], shown: Callable):
        def step(desk: Desk) -> str:
            after = url_for("job", name=name)
            with saving(after):
                write.save(desk.path, desk.job.digest, change(desk))
            return after

        return in_turn(name, desk_of, step, shown)

    again["place"] = lambda name: place_page(name, desk_of(name, need="talk"), (EXPIRED,))
    again["waive"] = lambda name: waive_page(name, desk_of(name), (EXPIRED,))


def chosen_holds() -> list[str]:
    """What is to be gone on without: as ticked, else as the address names it."""
    told = request.form if request.method == "POST" else request.args
    return list(dict.fromkeys(filter(None, told.getlist("hold"))))


def place_given(form: Mapping[str, str]) -> dict[str, str]:
    """Field of the place -> what was typed, a bare number with the unit chosen beside it; empty where nothing was."""
    return {
        field: with_unit(with_point(typed_text(form, field)), typed_text(form, f"{field}.unit"))
        for field, *_ in PLACE
        if field in form
    }


def _place(desk: Desk) -> str:
    return json.dumps(asdict(desk.job.job.place), sort_keys=True)


def _waived(desk: Desk) -> str:
    return json.dumps({key: asdict(waiver) for key, waiver in desk.job.job.waived.items()}, sort_keys=True)


def _title(shop: Shop, key: str) -> str:
    text = OTHER_WAIVERS.get(key) or (shop.knowledge.holds[key].title if key in shop.knowledge.holds else key)
    return f"{text[0].upper()}{text[1:]}"


def _waived_title(shop: Shop, desk: Desk, key: str) -> str:
    """The check that is gone on without, then what it is made for."""
    hold = next((hold for hold in desk.answer.holds if hold.hold == key), None)
    return _title(shop, key) if hold is None else hold_words(shop.knowledge, hold)


def _offers(shop: Shop, desk: Desk) -> list[Offer]:
    """Every hold that stands, and what else stands before a promise of the answer's job; each once."""
    knowledge, answer = shop.knowledge, desk.answer
    found: dict[str, Offer] = {}
    for hold in answer.holds:
        if hold.state == "stands":
            found[hold.hold] = Offer(hold.hold, hold_words(knowledge, hold), knowledge.holds[hold.hold].because)
    line = answer.decision.line(answer.decision.job)
    for key, fault in before_promise(knowledge, answer, shop.prices, answer.decision.job, line.enough):
        if key in OTHER_WAIVERS:
            found.setdefault(key, Offer(key, _title(shop, key), f"{fault.message[0].upper()}{fault.message[1:]}."))
    return list(found.values())


def waiver_line(waiver: Waiver) -> str:
    """'Ann O., by telephone, 2026-03-05: too far to drive'."""
    told = ", ".join(part for part in (waiver.by, waiver.how, waiver.date) if part)
    return f"{told}: {waiver.reason}" if waiver.reason else told
