"""The routes of what is measured: at the bench, and on the open engine."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from flask import Flask, redirect, render_template, request, url_for

from ..assessment.session import Shop
from ..interview.session import Desk
from ..show.question_card import cautions_of
from . import views
from .card import job_card
from .cautions import mark_read
from .guard import Again
from .jobs import job_path
from .saving import Outcome, expired_form, save_form
from .sends import saving
from .verdict import so_far


def cautions_seen(desk: Desk, names: list[str]) -> list[str]:
    """Cautions that stood above the fields of a form."""
    return [caution for name in names for caution in cautions_of(desk, name)]


def add_readings(
    app: Flask, folder: Path, shop: Shop, desk_of: Callable[..., Desk], keep: Callable[[str, Desk], None], again: Again
) -> None:
    """Add the routes to the application. `keep` is told of every desk that was saved."""

    def readings_page(name: str, desk: Desk, moment: str, outcome: Outcome | None = None):
        groups = views.reading_groups(desk, moment)
        touched = outcome.touched if outcome else frozenset()
        offered = {item for _, names in groups for item in names}
        if gone := sorted(touched - offered):  # its ground went meanwhile; what was typed is shown all the same
            groups.append(("No longer asked on this engine", gone))
        return render_template(
            "readings.html",
            name=name,
            desk=desk,
            groups=groups,
            outcome=outcome,
            moment=moment,
            card=job_card(desk, name),
            view=so_far(desk),
            asking=True,
            cautions_of=cautions_of,
            titles={item: shop.knowledge.observations[item].title for item in offered | touched},
            open=[title for title, names in groups if touched & set(names)],
        )

    def offered() -> list[str]:
        return [
            item for item in dict.fromkeys(request.form.getlist("observation")) if item in shop.knowledge.observations
        ]

    @app.get("/job/<name>/readings")
    def readings(name: str):
        return readings_page(name, desk_of(name, need="talk"), "test")

    @app.get("/job/<name>/open")
    def opened(name: str):
        return readings_page(name, desk_of(name, need="talk"), "teardown")

    def saved(name: str, moment: str, endpoint: str):
        names = offered()
        with saving(url_for(endpoint, name=name)):
            outcome = save_form(job_path(folder, name), lambda: desk_of(name, need="talk"), names, request.form)
        if outcome.status != 303:
            return readings_page(name, outcome.desk, moment, outcome), outcome.status
        keep(name, outcome.desk)
        return mark_read(redirect(url_for(endpoint, name=name), 303), cautions_seen(outcome.desk, names))

    @app.post("/job/<name>/readings")
    def save_readings(name: str):
        return saved(name, "test", "readings")

    @app.post("/job/<name>/open")
    def save_opened(name: str):
        return saved(name, "teardown", "opened")

    def expired(name: str, moment: str):
        outcome = expired_form(desk_of(name, need="talk"), offered(), request.form)
        return readings_page(name, outcome.desk, moment, outcome)

    again.update(
        {"save_readings": lambda name: expired(name, "test"), "save_opened": lambda name: expired(name, "teardown")}
    )


__all__ = ["add_readings", "cautions_seen"]
