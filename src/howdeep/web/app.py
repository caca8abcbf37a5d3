"""The page's application: routes that read a job, show it, and save one change."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from flask import Flask, abort, redirect, render_template, request, url_for
from werkzeug.exceptions import HTTPException

from ..errors import HowdeepError, StaleFile
from ..explain import explain
from ..files.strict_yaml import digest_of
from ..interview.desk import Desk, Moved, put, put_many
from ..interview.words import match_words
from ..job import write
from ..job.sections import LATER, UNKNOWN
from ..knowledge.engine_facts import count_of
from ..knowledge.engines import find, load_engine, sheet_ids
from ..session import Shop
from . import views
from .forms import plain_from_form
from .guard import guard
from .jobs import delete_job, job_path, list_jobs, name_from

KEEP = 64


class Desks:
    """Assessed jobs by content: the same file and rule base give the same answer, so it is worked out once."""

    def __init__(self, shop: Shop):
        self.shop, self.lock, self.kept = shop, threading.Lock(), OrderedDict()

    def open(self, path: Path, last: str = "", *, whole: bool = False) -> Desk:
        """The desk of a job. What would change the answer takes as long as all the rest: only the `whole` has it."""
        try:
            digest = digest_of(path.read_bytes())
        except FileNotFoundError:
            abort(404, "There is no such job; it may have been deleted.")
        with self.lock:
            desk, is_whole = self.kept.get((path, digest), (None, False))
        if desk is None or (whole and not is_whole):
            job = desk.job if desk is not None else self.shop.open_job(path)
            desk = Desk(self.shop, path, job, self.shop.assess(job, flips=whole))
            self.keep(desk, whole=whole)
        return Desk(self.shop, path, desk.job, desk.answer, last)

    def keep(self, desk: Desk, *, whole: bool = False) -> None:
        with self.lock:
            self.kept[(desk.path, desk.job.digest)] = (desk, whole)
            while len(self.kept) > KEEP:
                self.kept.popitem(last=False)


def create_app(folder: Path, shop: Shop, *, hosts: frozenset[str] = frozenset({"localhost", "127.0.0.1"}),
               token: str = "") -> Flask:
    """The application for one folder of jobs. With a token, nothing is shown before it was entered."""
    app = Flask(__name__, static_folder="static", template_folder="templates")
    guard(app, hosts=hosts, token=token)
    desks = Desks(shop)
    moves: OrderedDict[str, Moved] = OrderedDict()
    views.add_filters(app, shop)

    def desk_of(name: str, last: str = "", *, whole: bool = False) -> Desk:
        return desks.open(job_path(folder, name), last, whole=whole)

    @app.get("/")
    def index():
        search = request.args.get("search", "")[:100]
        jobs, total = list_jobs(folder, search)
        return render_template("index.html", jobs=jobs, total=total, search=search)

    @app.route("/new", methods=["GET", "POST"])
    def new():
        sheets = [(name, load_engine(find(name, shop.folders)).name) for name in sheet_ids(shop.folders)]
        if request.method == "GET":
            return render_template("new.html", sheets=sheets, form={}, faults=())
        form = {key: write.clean_text(value)[:10_000].strip() for key, value in request.form.items()}
        if form.get("engine") not in {name for name, _ in sheets}:
            return render_template("new.html", sheets=sheets, form=form, faults=["Choose the engine."]), 422
        customer = {key: form[key] for key in ("name", "phone", "email", "words", "machine") if form.get(key)}
        title = form.get("title") or (form.get("words") or "New job")[:70]
        name = name_from(form.get("title") or form.get("name") or "job", folder)
        plain = write.new_job(form["engine"], title=title, **({"customer": customer} if customer else {}))
        write.create(job_path(folder, name), plain)
        return redirect(url_for("ask", name=name), 303)

    @app.get("/job/<name>")
    def job(name: str):
        desk = desk_of(name, whole=True)
        return render_template("job.html", name=name, desk=desk, view=views.answer_view(desk))

    @app.get("/job/<name>/ask")
    def ask(name: str):
        desk = desk_of(name, request.args.get("last", ""))
        state = desk.flow
        wanted = request.args.get("question", "")
        if wanted and wanted not in shop.knowledge.observations:
            abort(404, "There is no such question.")
        put_off = state.put_off[0] if state.put_off else ""
        question = wanted or (state.next.observation if state.next else put_off)
        matches = match_words(shop.knowledge, desk.job.job.customer.words) if question == "complaint" else ()
        return render_template("ask.html", name=name, desk=desk, state=state, question=question, matches=matches,
                               moved=moves.get(f"{name} {desk.job.digest}"), faults=(), typed={},
                               view=views.answer_view(desk), again=bool(wanted))

    @app.post("/job/<name>/answer")
    def answer(name: str):
        question = request.form.get("question", "")
        if question not in shop.knowledge.observations:
            abort(404, "There is no such question.")
        desk = desk_of(name)
        return _save(name, desk, {question: _plain(desk, question, request.form)}, back="ask")

    @app.get("/job/<name>/readings")
    def readings(name: str):
        desk = desk_of(name)
        return render_template("readings.html", name=name, desk=desk, groups=views.reading_groups(desk), faults=(),
                               typed={}, group="")

    @app.post("/job/<name>/readings")
    def save_readings(name: str):
        desk = desk_of(name)
        wanted = [item for item in request.form.getlist("observation") if item in shop.knowledge.observations]
        changes = {}
        for item in wanted:
            plain = _plain(desk, item, request.form)
            if plain != LATER or item in desk.job.values:
                changes[item] = None if plain == LATER else plain
        return _save(name, desk, changes, back="readings")

    def _plain(desk: Desk, question: str, form: Mapping[str, str]) -> Any:
        if form.get("how") in (UNKNOWN, LATER):
            return form["how"]
        item = shop.knowledge.observations[question]
        return plain_from_form(item, form, count_of(desk.job.engine, item.each), question)

    def _save(name: str, desk: Desk, changes: dict[str, Any], back: str):
        sent = request.form.get("digest", "")
        if sent != desk.job.digest:
            return render_template("stale.html", name=name, desk=desk, changes=changes, back=back), 409
        try:
            if back == "ask":
                (question, plain), = changes.items()
                saved = put(desk, question, plain)
            else:
                saved = put_many(desk, changes)
        except StaleFile:
            return render_template("stale.html", name=name, desk=desk_of(name), changes=changes, back=back), 409
        except HowdeepError as error:
            faults = [f"{fault.message}{f' ({fault.hint})' if fault.hint else ''}" for fault in error.faults]
            typed = {key: value for key, value in request.form.items()}
            if back == "ask":
                return render_template("ask.html", name=name, desk=desk, state=desk.flow, moved=None, faults=faults,
                                       question=next(iter(changes)), matches=(), typed=typed, again=True,
                                       view=views.answer_view(desk)), 422
            return render_template("readings.html", name=name, desk=desk, groups=views.reading_groups(desk),
                                   faults=faults, typed=typed, group=request.form.get("group", "")), 422
        desks.keep(saved)
        if saved.moved:
            moves[f"{name} {saved.job.digest}"] = saved.moved
            while len(moves) > KEEP:
                moves.popitem(last=False)
        if back == "ask":
            return redirect(url_for("ask", name=name, last=next(iter(changes))), 303)
        return redirect(url_for("readings", name=name), 303)

    @app.get("/job/<name>/answers")
    def answers(name: str):
        desk = desk_of(name)
        return render_template("answers.html", name=name, desk=desk, groups=views.answered_groups(desk))

    @app.get("/job/<name>/why/<what>")
    def why(name: str, what: str):
        desk = desk_of(name)
        return render_template("why.html", name=name, desk=desk, explanation=explain(shop.knowledge, desk.answer, what))

    @app.route("/job/<name>/delete", methods=["GET", "POST"])
    def delete(name: str):
        path = job_path(folder, name)
        if request.method == "POST":
            delete_job(path)
            return redirect("/", 303)
        return render_template("delete.html", name=name, desk=desk_of(name))

    from .papers import add_papers

    add_papers(app, shop, desk_of)

    @app.errorhandler(HowdeepError)
    def bad_input(error: HowdeepError):
        lines = [f"{Path(fault.file).name}:{fault.line}: " * bool(fault.file) + fault.message
                 + (f" ({fault.hint})" if fault.hint else "") for fault in error.faults]
        return render_template("error.html", title="This cannot be read or saved", lines=lines), 422

    @app.errorhandler(HTTPException)
    def refused(error: HTTPException):
        return render_template("error.html", title=f"{error.code} {error.name}", lines=[error.description]), error.code

    @app.errorhandler(Exception)
    def defect(error: Exception):
        app.logger.exception("internal fault")
        return render_template("error.html", title="The program has a fault",
                               lines=["Nothing was saved by this step. Earlier answers are on disk."]), 500

    return app
