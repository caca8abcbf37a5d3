"""The routes of what a job keeps beside its answers: notes, and photographs from the phone's camera."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from flask import Flask, Response, abort, redirect, render_template, request, url_for

from ..errors import HowdeepError, StaleFile
from ..interview.desk import Desk
from ..job.kept import MOST_BYTES, noting, photo_folder, photo_named, put_beside, showing
from ..job.write import Change, save
from ..session import Shop
from .card import job_card
from .guard import Again
from .saving import BUSY, EXPIRED, TRIES, fault_lines, lock_of

TYPES = {"jpg": "image/jpeg", "png": "image/png", "webp": "image/webp", "gif": "image/gif"}
"""Ending -> type of what a browser can show; others are sent to be kept."""


@dataclass(frozen=True, slots=True)
class Shown:
    """One photograph of a job."""

    title: str
    date: str
    address: str


def photos_of(desk: Desk, name: str) -> tuple[Shown, ...]:
    """The photographs of a job, the newest first."""
    known = desk.knowledge.observations
    return tuple(Shown(known[photo.of].title if photo.of in known else photo.of, photo.date,
                       url_for("photograph", name=name, file=photo.file)) for photo in reversed(desk.job.job.photos))


def add_keeping(app: Flask, shop: Shop, desk_of: Callable[..., Desk], again: Again) -> None:
    """Add the routes to the application."""

    def page(name: str, desk: Desk, faults: tuple[str, ...] = ()):
        looks = [(key, item.title) for key, item in desk.knowledge.observations.items()
                 if item.kind == "choice" and item.moment != "talk"]
        return render_template("keeping.html", name=name, desk=desk, card=job_card(desk, name), faults=faults,
                               form=request.form, photos=photos_of(desk, name), looks=looks)

    @app.route("/job/<name>/note", methods=["GET", "POST"])
    def keeping(name: str):
        desk = desk_of(name)
        if request.method == "GET":
            return page(name, desk)
        sent, today = request.files.get("photo"), datetime.date.today().isoformat()
        text, of = request.form.get("text", "").strip(), request.form.get("of", "")
        try:
            changes: list[Change] = [noting(text, today)] if text else []
            if sent is not None and sent.filename:
                data = sent.stream.read(MOST_BYTES + 1)
                photo = photo_named(data, of or request.form.get("words", ""), today)
                put_beside(desk.path, photo, data)
                changes.append(showing(photo))
            if not changes:
                return page(name, desk, ("Write a note or choose a photograph.",)), 422
            _saved(desk, lambda: desk_of(name), changes)
        except HowdeepError as error:
            return page(name, desk_of(name), fault_lines(error)), 422
        return redirect(url_for("keeping", name=name), 303)

    @app.get("/job/<name>/photo/<file>")
    def photograph(name: str, file: str):
        desk = desk_of(name)
        if file not in {photo.file for photo in desk.job.job.photos}:
            abort(404, "This job has no such photograph.")
        path = photo_folder(desk.path) / Path(file).name
        try:
            data = path.read_bytes()
        except OSError:
            abort(404, "The photograph is gone from its folder.")
        kind = TYPES.get(path.suffix[1:], "application/octet-stream")
        response = Response(data, mimetype=kind)
        response.headers["Cache-Control"] = "private, max-age=86400, immutable"  # named by its hash
        if kind == "application/octet-stream":
            response.headers["Content-Disposition"] = f"attachment; filename={path.name}"
        return response

    again.update({"keeping": lambda name: page(name, desk_of(name), (EXPIRED,))})


def _saved(desk: Desk, open_desk: Callable[[], Desk], changes: list[Change]) -> None:
    """Write changes that only add to a job, whatever others saved meanwhile."""

    def change(plain: dict) -> dict:
        for step in changes:
            plain = step(plain)
        return plain

    with lock_of(desk.path):
        for _ in range(TRIES):
            try:
                save(desk.path, desk.job.digest, change)
                return
            except StaleFile:
                desk = open_desk()
    raise HowdeepError(BUSY)


__all__ = ["Shown", "add_keeping", "photos_of"]
