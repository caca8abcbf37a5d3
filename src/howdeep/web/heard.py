"""The first card of a talk: all that the customer's own words say, to be ticked or unticked and saved in one go."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from flask import Flask, redirect, render_template, request, url_for

from ..interview.heard import Heard, heard_in
from ..interview.session import Desk
from ..knowledge.questions import COMPLAINTS
from ..show.answers import echo
from .card import job_card
from .guard import Again
from .jobs import job_path
from .saving import EXPIRED, save_form
from .sends import saving
from .verdict import so_far

TWO = "Two complaints at most: tick the main ones."
MEANWHILE = "Somebody else answered some of this meanwhile, so nothing was saved. What is still open stands below."


def heard_first(desk: Desk) -> Heard | None:
    """What the first card of a talk offers; None once what brings the customer in was answered or put off, and where
    his words say nothing."""
    job = desk.job
    if {*job.values, *job.unknown, *job.later} & set(COMPLAINTS):
        return None
    heard = heard_in(desk.knowledge, job, desk.answer.facts.values)
    return heard if heard.complaints or heard.signs else None


def heard_page(name: str, desk: Desk, heard: Heard, faults: tuple[str, ...] = ()) -> str:
    """The card as a page; sent back it is ticked as it was sent."""
    told = request.form if request.method == "POST" else None
    observations = desk.knowledge.observations
    main = observations[COMPLAINTS[0]]
    lines = [
        ("complaint", answer, main.answers[answer], number < len(COMPLAINTS))
        for number, answer in enumerate(heard.complaints)
    ]
    lines += [
        ("sign", f"{question}={answer}", echo(observations[question], answer).rstrip("."), True)
        for question, answer in heard.signs
    ]
    if heard.more:
        lines.append(("all", "yes", "That is all that troubles him", True))
    return render_template(
        "heard.html",
        name=name,
        desk=desk,
        card=job_card(desk, name),
        view=so_far(desk),
        asking=True,
        several=len(heard.complaints) > 1,
        faults=faults,
        lines=[
            (field, value, words, value in told.getlist(field) if told is not None else ticked)
            for field, value, words, ticked in lines
        ],
    )


def _ticked(desk: Desk) -> dict[str, str]:
    """Question -> answer of what was ticked; what is no answer of a question is passed over."""
    observations = desk.knowledge.observations
    known = observations[COMPLAINTS[0]].answers
    complaints = [one for one in dict.fromkeys(request.form.getlist("complaint")) if one in known]
    found = dict(zip(COMPLAINTS, complaints, strict=False))
    if len(found) == 1 and "all" in request.form:
        found[COMPLAINTS[1]] = "nothing"
    for sign in request.form.getlist("sign"):
        question, _, answer = sign.partition("=")
        if question in observations and answer in observations[question].answers:
            found[question] = answer
    return found


def add_heard(
    app: Flask, folder: Path, desk_of: Callable[..., Desk], keep: Callable[[str, Desk], None], again: Again
) -> None:
    """Add the route to the application. `keep` is told of every desk that was saved."""

    def shown(name: str, desk: Desk, fault: str) -> Any:
        heard = heard_first(desk)
        return heard_page(name, desk, heard, (fault,)) if heard else redirect(url_for("ask", name=name), 303)

    @app.post("/job/<name>/heard")
    def heard(name: str):
        desk = desk_of(name, need="talk")
        if len(set(request.form.getlist("complaint"))) > len(COMPLAINTS):
            return shown(name, desk, TWO), 422
        values, after = _ticked(desk), url_for("ask", name=name, last=COMPLAINTS[0])
        with saving(after):
            outcome = save_form(job_path(folder, name), lambda: desk_of(name, need="talk"), list(values), values)
        if outcome.status != 303:
            return shown(name, outcome.desk, outcome.faults[0] if outcome.status == 422 else MEANWHILE), outcome.status
        keep(name, outcome.desk)
        return redirect(after, 303)

    again["heard"] = lambda name: shown(name, desk_of(name, need="talk"), EXPIRED)


__all__ = ["add_heard", "heard_first", "heard_page"]
