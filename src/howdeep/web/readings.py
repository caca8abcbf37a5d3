"""The routes of what is measured: at the bench, and on the open engine."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from flask import Flask, redirect, render_template, request, url_for

from ..assessment.session import Shop
from ..interview.flow import CONDITIONS
from ..interview.session import Desk
from ..model.condition import facts_read
from ..quote.beside import expected_band, figures_text
from ..readings.compression_shown import DRY
from ..show.question_card import cautions_of, figure_texts
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


def with_conditions(
    desk: Desk, groups: list[tuple[str, list[str]]]
) -> tuple[list[tuple[str, list[str]]], dict[str, tuple[str, ...]]]:
    """(the groups, the conditions of the tests first in the group that reads most of them, and no group of their own;
    group -> conditions that it reads and that stand in another). A field stands once on a page."""
    observations = desk.knowledge.observations
    moved = [name for _, names in groups for name in names if observations[name].group == CONDITIONS]
    reads = {
        title: [name for name in moved if any(name in _valid_by(desk, other) for other in names)]
        for title, names in groups
        if not set(names) & set(moved)
    }
    most = max(reads, key=lambda title: len(reads[title]), default="")
    if not moved or not most or not reads[most]:
        return groups, {}
    made = [
        (title, [*moved, *names] if title == most else names) for title, names in groups if not set(names) & set(moved)
    ]
    return made, {title: tuple(names) for title, names in reads.items() if names and title != most}


def _valid_by(desk: Desk, name: str) -> frozenset[str]:
    """What must have been so for a reading to count."""
    valid = desk.knowledge.observations[name].valid_when
    return facts_read(valid) if valid is not None else frozenset()


def expected_lines(desk: Desk, name: str) -> list[str]:
    """What a reading should be, to stand beside its field: where this engine was tested, else by its sheet."""
    item, units = desk.knowledge.observations[name], desk.shop.settings.units
    band = expected_band(desk.answer) if name == DRY else None
    if band:
        return [f"Expected here: {figures_text(list(band), item.unit, units, ' to ')}"]
    return figure_texts(desk, item)


def add_readings(
    app: Flask, folder: Path, shop: Shop, desk_of: Callable[..., Desk], keep: Callable[[str, Desk], None], again: Again
) -> None:
    """Add the routes to the application. `keep` is told of every desk that was saved."""

    def readings_page(name: str, desk: Desk, moment: str, outcome: Outcome | None = None):
        groups, conditions = with_conditions(desk, views.reading_groups(desk, moment))
        following = desk.bench.worth_asking if moment == "test" and desk.part == "both" else ()
        here = {item for _, names in groups for item in names}
        saved = request.args.get("saved", "")
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
            conditions=conditions,
            expected=lambda name: expected_lines(desk, name),
            saved=saved if saved in {title for title, _ in groups} and outcome is None else "",
            following=next((item.observation for item in following if item.observation in here), ""),
            titles={item: shop.knowledge.observations[item].title for item in offered | touched},
            open=[title for title, names in groups if touched & set(names) or (title == saved and outcome is None)],
        )

    def offered() -> list[str]:
        return [
            item for item in dict.fromkeys(request.form.getlist("observation")) if item in shop.knowledge.observations
        ]

    @app.get("/job/<name>/readings")
    def readings(name: str):
        return readings_page(name, desk_of(name), "test")

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
        pressed = request.form.get("saved", "")[:80]
        after = (
            url_for(endpoint, name=name, saved=pressed, _anchor="saved") if pressed else url_for(endpoint, name=name)
        )
        return mark_read(redirect(after, 303), cautions_seen(outcome.desk, names))

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
