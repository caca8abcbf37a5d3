"""The routes of what a job keeps beside its answers: notes, and photographs from the phone's camera."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path

from flask import Flask, Response, abort, redirect, render_template, request, url_for

from ..assessment.session import Shop
from ..clock import date_today
from ..errors import HowdeepError, StaleFile
from ..files.small_picture import QUALITY, made_small
from ..interview.session import Desk
from ..job.kept import MOST_BYTES, noting, photo_folder, photo_named, put_beside, showing
from ..job.paper_copy import put_paper_copy
from ..job.write import Change, save
from ..model.frozen import dataclass
from ..model.job import Photo
from .card import job_card
from .guard import Again, is_here
from .saving import BUSY, EXPIRED, TRIES, fault_lines, lock_of
from .sends import saving

SIZES = {"small": 480, "": 1600}
"""What the address asks for -> longer side of the copy that is shown, in points of the screen."""
COPIES = 64
"""Copies kept in memory; one of the larger size has about 300 kB."""
NO_PICTURE = (
    "This cannot be looked at as a picture: JPEG, PNG, WebP and GIF can, whole and of at most 89 million "
    "points. Set the camera to JPEG, or keep the file with 'howdeep photo'."
)


@dataclass(frozen=True, slots=True)
class Shown:
    """One photograph of a job."""

    title: str
    date: str
    address: str


class Copies:
    """Copies of photographs to be shown: smaller, upright, and without the place and time that a camera writes into
    its files. The last ones are kept in memory, the files themselves stay as they are."""

    def __init__(self) -> None:
        self.lock, self.kept = threading.Lock(), OrderedDict[tuple[str, str], bytes]()

    def of(self, digest: str, size: str, source: Path | bytes) -> bytes:
        """The copy of the picture with this digest; empty where it cannot be looked at."""
        key = (digest, size)
        with self.lock:
            if key in self.kept:
                self.kept.move_to_end(key)
                return self.kept[key]
        try:
            made = made_small(source if isinstance(source, bytes) else source.read_bytes(), SIZES[size], QUALITY)
        except (OSError, HowdeepError):
            return b""
        with self.lock:
            self.kept[key] = made
            while len(self.kept) > COPIES:
                self.kept.popitem(last=False)
        return made


def photos_of(desk: Desk, name: str) -> tuple[Shown, ...]:
    """The photographs of a job, the newest first."""
    known = desk.knowledge.observations
    return tuple(
        Shown(
            known[photo.of].title if photo.of in known else photo.of,
            photo.date,
            url_for("photograph", name=name, file=photo.file),
        )
        for photo in reversed(desk.job.job.photos)
    )


def add_keeping(app: Flask, shop: Shop, desk_of: Callable[..., Desk], again: Again) -> None:
    """Add the routes to the application."""
    copies = Copies()

    def entry_of(desk: Desk, file: str) -> Photo:
        found = next((photo for photo in desk.job.job.photos if photo.file == file), None)
        return found if found is not None else abort(404, "This job has no such photograph.")

    def page(name: str, desk: Desk, faults: tuple[str, ...] = ()):
        looks = [
            (key, item.title)
            for key, item in desk.knowledge.observations.items()
            if item.kind == "choice" and item.moment != "talk"
        ]
        return render_template(
            "keeping.html",
            name=name,
            desk=desk,
            card=job_card(desk, name),
            faults=faults,
            form=request.form,
            photos=photos_of(desk, name),
            looks=looks,
        )

    @app.route("/job/<name>/note", methods=["GET", "POST"])
    def keeping(name: str):
        desk = desk_of(name, need="talk")
        if request.method == "GET":
            return page(name, desk)
        sent, today = request.files.get("photo"), date_today()
        text, of = request.form.get("text", "").strip(), request.form.get("of", "")
        try:
            changes: list[Change] = [noting(text, today)] if text else []
            if sent is not None and sent.filename:
                data = sent.stream.read(MOST_BYTES + 1)
                photo = photo_named(data, of or request.form.get("words", ""), today)
                if not copies.of(photo.sha256, "", data):
                    raise HowdeepError(NO_PICTURE)
                put_beside(desk.path, photo, data)
                put_paper_copy(desk.path, photo, data)
                changes.append(showing(photo))
            if not changes:
                return page(name, desk, ("Write a note or choose a photograph.",)), 422
            with saving(url_for("keeping", name=name)):
                _saved(desk, lambda: desk_of(name, need="talk"), changes)
        except HowdeepError as error:
            return page(name, desk_of(name, need="talk"), fault_lines(error)), 422
        return redirect(url_for("keeping", name=name), 303)

    @app.get("/job/<name>/photo/<file>")
    def photograph(name: str, file: str):
        desk = desk_of(name, need="talk")
        photo = entry_of(desk, file)
        size = "small" if "small" in request.args else ""
        data = copies.of(photo.sha256, size, photo_folder(desk.path) / Path(file).name)
        if not data:
            abort(404, "The photograph is gone from its folder, or cannot be looked at here.")
        response = Response(data, mimetype="image/jpeg")
        response.headers["Cache-Control"] = "private, max-age=86400, immutable"  # named by its hash
        return response

    @app.get("/job/<name>/photo/<file>/original")
    def original(name: str, file: str):
        if not is_here():
            abort(403, "A camera writes the place into its files: originals are given out on the machine itself alone.")
        photo = entry_of(desk_of(name, need="talk"), file)
        try:
            data = (photo_folder(desk_of(name, need="talk").path) / Path(photo.file).name).read_bytes()
        except OSError:
            abort(404, "The photograph is gone from its folder.")
        response = Response(data, mimetype="application/octet-stream")
        response.headers["Content-Disposition"] = f"attachment; filename={Path(photo.file).name}"
        return response

    again.update({"keeping": lambda name: page(name, desk_of(name, need="talk"), (EXPIRED,))})


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
