"""The routes of a job's journal: what was changed when and by whom, and the last change taken back."""

from __future__ import annotations

from collections.abc import Callable

from flask import Flask, g, redirect, render_template, request, url_for

from ..assessment.session import Shop
from ..errors import HowdeepError
from ..interview.session import Desk
from ..job.journal import may_undo, read_journal, set_who, undone
from ..job.take_back import take_back
from ..show.history_text import line_words, when
from .card import job_card
from .guard import Again
from .saving import EXPIRED, fault_lines, lock_of
from .sends import saving

SHOWN = 200
"""Lines shown, the newest first; the command shows all."""


def add_history(app: Flask, shop: Shop, desk_of: Callable[..., Desk], again: Again) -> None:
    """Add the routes to the application; from now on changes are entered as made by the device that asks, by
    the name on its pass or by its address."""

    @app.before_request
    def name_who() -> None:
        address = request.remote_addr or ""
        told = g.get("device") or ("" if address in ("", "127.0.0.1", "::1") else address)
        set_who(f"page, {told}" if told else "page")

    def page(name: str, desk: Desk, faults: tuple[str, ...] = ()):
        lines = read_journal(desk.path).lines
        last = undone(lines)
        why_not = may_undo(last) if last is not None else ""
        return render_template(
            "history.html",
            name=name,
            desk=desk,
            card=job_card(desk, name),
            faults=faults,
            lines=[
                (line.number, when(line), line.by, line_words(shop.knowledge, line))
                for line in reversed(lines[-SHOWN:])
            ],
            all=len(lines),
            last=line_words(shop.knowledge, last) if last is not None else "",
            why_not=why_not,
        )

    @app.route("/job/<name>/history", methods=["GET", "POST"])
    def history(name: str):
        desk = desk_of(name, need="talk")
        if request.method == "GET":
            return page(name, desk)
        try:
            with lock_of(desk.path), saving(url_for("history", name=name)):
                take_back(desk.path)
        except HowdeepError as error:
            return page(name, desk_of(name, need="talk"), fault_lines(error)), 422
        return redirect(url_for("history", name=name), 303)

    again.update({"history": lambda name: page(name, desk_of(name, need="talk"), (EXPIRED,))})


__all__ = ["add_history"]
