"""The routes that begin a job, and say what engine it is."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from flask import Flask, redirect, render_template, request, url_for

from ..assessment.session import Shop
from ..errors import HowdeepError
from ..interview.session import Desk
from ..job import write
from ..job.decide import placing
from ..job.sections import UNKNOWN
from ..knowledge.engines import sheet_ids
from ..knowledge.kinds import load_kinds
from ..sheets.choices import engine_choices
from .decisions import place_given
from .engine_form import engine_fields, engine_from, engine_shown
from .guard import Again
from .jobs import job_path, name_from
from .saving import EXPIRED, fault_lines
from .sends import saving


def add_begin(app: Flask, folder: Path, shop: Shop, desk_of: Callable[..., Desk], again: Again) -> None:
    """Add the routes to the application."""

    def new_page(faults: tuple[str, ...] = ()):
        return render_template(
            "new.html",
            choices=engine_choices(shop.folders, folder),
            form=request.form,
            faults=faults,
            fields=engine_fields(),
            shop_altitude=shop.settings.altitude,
        )

    @app.route("/new", methods=["GET", "POST"])
    def new():
        if request.method == "GET":
            return new_page()
        form = {key: write.clean_text(value)[:10_000].strip() for key, value in request.form.items()}
        try:
            engine = chosen_engine(form)
        except HowdeepError as error:
            return new_page(fault_lines(error)), 422
        customer = {key: form[key] for key in ("name", "phone", "email", "words", "machine") if form.get(key)}
        title = form.get("title") or write.title_of(form.get("words", "")) or "New job"
        plain = write.new_job(
            engine,
            title=title,
            **({"customer": customer} if customer else {}),
            **({"place": {"altitude": shop.settings.altitude}} if shop.settings.altitude else {}),
        )
        try:
            place = {key: text for key, text in place_given(request.form).items() if text}
            if place:
                plain = placing(**place)(plain)
            name = _create(form.get("title") or form.get("name") or "job", plain)
        except HowdeepError as error:
            return new_page(fault_lines(error)), 422
        return redirect(url_for("ask", name=name), 303)

    def chosen_engine(form: dict[str, str]) -> dict | str:
        """What a form says of the engine: a sheet, or what is known of one without. Raises HowdeepError."""
        named = form.get("engine", "")
        kinds = load_kinds(shop.folders)
        if named in sheet_ids(shop.folders, folder):
            return named
        if named != UNKNOWN and named not in kinds:
            raise HowdeepError("Choose the engine; if nobody knows it, say so and tell what is known of it.")
        return engine_from(form, kinds)

    def engine_page(name: str, desk: Desk, faults: tuple[str, ...] = ()):
        general = desk.job.general
        form = request.form or engine_shown(general.described if general else None) or {"engine": desk.job.job.engine}
        return render_template(
            "job_engine.html",
            name=name,
            desk=desk,
            form=form,
            faults=faults,
            fields=engine_fields(),
            choices=engine_choices(shop.folders, folder),
        )

    @app.route("/job/<name>/engine", methods=["GET", "POST"])
    def job_engine(name: str):
        desk = desk_of(name, need="talk")
        if request.method == "GET":
            return engine_page(name, desk)
        form = {key: write.clean_text(value)[:200].strip() for key, value in request.form.items()}
        if form.get("was.engine", "") != desk.job.digest:
            return engine_page(
                name, desk, ("Somebody else changed this job meanwhile; look it over and save again.",)
            ), 409
        try:
            named = chosen_engine(form)
            with saving(url_for("job", name=name)):
                write.save(desk.path, desk.job.digest, lambda plain: {**plain, "engine": named})
        except HowdeepError as error:
            return engine_page(name, desk, fault_lines(error)), 422
        return redirect(url_for("job", name=name), 303)

    def _create(words: str, plain: dict) -> str:
        """The name of the job made; of two made at once under one name the second takes the next."""
        for _ in range(20):
            name = name_from(words, folder)
            path = job_path(folder, name)
            try:
                with saving(url_for("ask", name=name)):
                    write.create(path, plain)
                return name
            except HowdeepError:
                if not path.exists():
                    raise
        raise HowdeepError("Too many jobs of this name are being made at once. Save again.")

    again.update(
        {
            "new": lambda: new_page((EXPIRED,)),
            "job_engine": lambda name: engine_page(name, desk_of(name, need="talk"), (EXPIRED,)),
        }
    )


__all__ = ["add_begin"]
