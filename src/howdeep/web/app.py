"""The page's application: routes that read a job, show it, and save one change."""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from pathlib import Path

from flask import Flask, abort, g, redirect, render_template, request, url_for
from werkzeug.exceptions import HTTPException

from ..changes import with_changes
from ..errors import Fault, HowdeepError
from ..files.strict_yaml import digest_of
from ..interview.desk import Desk, Moved
from ..interview.words import complaints_in
from ..job import write
from ..job.decide import placing
from ..job.sections import LATER, UNKNOWN
from ..knowledge.engines import sheet_ids
from ..knowledge.kinds import load_kinds
from ..session import Shop
from ..sheets.choices import engine_choices
from ..show.question_card import cautions_of
from ..show.spoken import explained_in
from ..show.why_answer import why
from ..show.why_asked import why_texts
from . import views
from .decisions import add_decisions, place_given
from .engine_form import engine_fields, engine_from, engine_shown
from .guard import Again, guard
from .guesses import Guesses
from .jobs import NoJob, delete_job, job_path, list_jobs, name_from, require_job
from .live import LiveShop, for_each_request, shop_now
from .saving import EXPIRED, Outcome, expired_form, fault_lines, save_form

KEEP = 64


class Desks:
    """Assessed jobs by content: the same file and rule base give the same answer, so it is worked out once."""

    def __init__(self) -> None:
        self.lock, self.kept = threading.Lock(), OrderedDict()

    def open(self, shop: Shop, path: Path, last: str = "", *, whole: bool = False) -> Desk:
        """The desk of a job, as the shop is now. What would change the answer takes as long as all the rest: only the
        `whole` has it."""
        if not path.is_file():
            raise NoJob("There is no such job; it may have been deleted.")
        try:
            digest = digest_of(path.read_bytes())
        except OSError as error:
            raise HowdeepError(Fault(path.name, 0, 0, f"cannot be read: {error.strerror or error}")) from None
        with self.lock:
            desk, is_whole = self.kept.get((path, digest), (None, False))
            if desk is not None and desk.shop is not shop:
                desk = None
        if desk is None or (whole and not is_whole):
            require_job(path)
            job = desk.job if desk is not None else shop.open_job(path)
            answer = shop.assess(job, flips=whole, gaps=whole, questions=True)
            desk = Desk(shop, path, job, shop.with_look_ups(answer) if whole else answer)
            self.keep(desk, whole=whole)
        return Desk(shop, path, desk.job, desk.answer, last)

    def keep(self, desk: Desk, *, whole: bool = False) -> None:
        with self.lock:
            self.kept[(desk.path, desk.job.digest)] = (desk, whole)
            while len(self.kept) > KEEP:
                self.kept.popitem(last=False)


def create_app(folder: Path, shop: Shop, *, hosts: frozenset[str] = frozenset({"localhost", "127.0.0.1"}),
               token: str = "", secret: bytes = b"", guesses: Guesses | None = None,
               prices: Path | None = None) -> Flask:
    """The application for one folder of jobs. With a token, nothing is shown before it was entered.

    `shop` is what the folder's price list (or the one named by `prices`) and settings gave; where either changes it is
    read anew. Without a `secret` one is made up, and open forms expire with this application.
    """
    app = Flask(__name__, static_folder="static", template_folder="templates")
    again: Again = {}
    guard(app, hosts=hosts, token=token, secret=secret or secrets.token_bytes(32), again=again,
          guesses=guesses or Guesses())
    live = LiveShop(shop, folder, prices)
    shop = for_each_request(app, live)
    desks = Desks()
    moves: OrderedDict[str, Moved] = OrderedDict()
    views.add_filters(app, shop)

    def desk_of(name: str, last: str = "", *, whole: bool = False) -> Desk:
        return desks.open(shop_now(shop), job_path(folder, name), last, whole=whole)

    @app.get("/")
    def index():
        search = request.args.get("search", "")[:100]
        jobs, total = list_jobs(folder, search)
        return render_template("index.html", jobs=jobs, total=total, search=search)

    def new_page(faults: tuple[str, ...] = ()):
        return render_template("new.html", choices=engine_choices(shop.folders, folder), form=request.form,
                               faults=faults, fields=engine_fields(), shop_altitude=shop.settings.altitude)

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
        title = form.get("title") or (form.get("words") or "New job")[:70]
        plain = write.new_job(engine, title=title, **({"customer": customer} if customer else {}),
                              **({"place": {"altitude": shop.settings.altitude}} if shop.settings.altitude else {}))
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
        form = request.form or engine_shown(general.described if general else None) or {
            "engine": desk.job.job.engine}
        return render_template("job_engine.html", name=name, desk=desk, form=form, faults=faults,
                               fields=engine_fields(), choices=engine_choices(shop.folders, folder))

    @app.route("/job/<name>/engine", methods=["GET", "POST"])
    def job_engine(name: str):
        desk = desk_of(name)
        if request.method == "GET":
            return engine_page(name, desk)
        form = {key: write.clean_text(value)[:200].strip() for key, value in request.form.items()}
        if form.get("was.engine", "") != desk.job.digest:
            return engine_page(name, desk, ("Somebody else changed this job meanwhile; look it over and save "
                                            "again.",)), 409
        try:
            named = chosen_engine(form)
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
                write.create(path, plain)
                return name
            except HowdeepError:
                if not path.exists():
                    raise
        raise HowdeepError("Too many jobs of this name are being made at once. Save again.")

    @app.get("/job/<name>")
    def job(name: str):
        desk = desk_of(name, whole=True)
        return render_template("job.html", name=name, desk=desk, view=views.answer_view(desk, whole=True))

    def ask_page(name: str, desk: Desk, question: str, outcome: Outcome | None = None, again: bool = False):
        answers = shop.knowledge.observations["complaint"].answers
        matches = [answers[name] for name in complaints_in(shop.knowledge, desk.job.job.customer.words)
                   ] if question == "complaint" else ()
        state = desk.flow
        asked_for = [text for _, text in why_texts(desk, state.next, question, {})] if question else []
        return render_template("ask.html", name=name, desk=desk, state=state, question=question, matches=matches,
                               asked_for=asked_for, cautions=cautions_of(desk, question) if question else (),
                               moved=moves.get(f"{name} {desk.job.digest}"), outcome=outcome, again=again,
                               view=views.answer_view(desk))

    @app.get("/job/<name>/ask")
    def ask(name: str):
        desk = desk_of(name, request.args.get("last", ""))
        state = desk.flow
        wanted = request.args.get("question", "")
        if wanted and wanted not in shop.knowledge.observations:
            abort(404, "There is no such question.")
        return ask_page(name, desk, wanted or (state.next.observation if state.next else ""), again=bool(wanted))

    def asked() -> str:
        question = request.form.get("question", "")
        if question not in shop.knowledge.observations:
            abort(404, "There is no such question.")
        return question

    @app.post("/job/<name>/answer")
    def answer(name: str):
        question = asked()
        how = request.form.get("how", "")
        outcome = save_form(job_path(folder, name), lambda: desk_of(name), [question], request.form,
                            how=how if how in (UNKNOWN, LATER) else "", asked=True)
        if outcome.status != 303:
            return ask_page(name, outcome.desk, question, outcome, again=True), outcome.status
        _keep(name, outcome.desk)
        return redirect(url_for("ask", name=name, last=question), 303)

    def _keep(name: str, saved: Desk) -> None:
        desks.keep(saved, whole=False)
        if saved.moved:
            moves[f"{name} {saved.job.digest}"] = saved.moved
            while len(moves) > KEEP:
                moves.popitem(last=False)

    def readings_page(name: str, desk: Desk, outcome: Outcome | None = None):
        groups = views.reading_groups(desk)
        touched = outcome.touched if outcome else frozenset()
        offered = {item for _, names in groups for item in names}
        if gone := sorted(touched - offered):  # its ground went meanwhile; what was typed is shown all the same
            groups.append(("No longer asked on this engine", gone))
        return render_template("readings.html", name=name, desk=desk, groups=groups, outcome=outcome,
                               titles={item: shop.knowledge.observations[item].title for item in offered | touched},
                               open=[title for title, names in groups if touched & set(names)])

    def offered() -> list[str]:
        return [item for item in dict.fromkeys(request.form.getlist("observation"))
                if item in shop.knowledge.observations]

    @app.get("/job/<name>/readings")
    def readings(name: str):
        return readings_page(name, desk_of(name))

    @app.post("/job/<name>/readings")
    def save_readings(name: str):
        outcome = save_form(job_path(folder, name), lambda: desk_of(name), offered(), request.form)
        if outcome.status != 303:
            return readings_page(name, outcome.desk, outcome), outcome.status
        _keep(name, outcome.desk)
        return redirect(url_for("readings", name=name), 303)

    def delete_page(name: str, faults: tuple[str, ...] = ()):
        return render_template("delete.html", name=name, desk=desk_of(name), faults=faults)

    again.update({
        "new": lambda: new_page((EXPIRED,)),
        "job_engine": lambda name: engine_page(name, desk_of(name), (EXPIRED,)),
        "answer": lambda name: ask_page(name, *_expired_answer(name), again=True),
        "save_readings": lambda name: readings_page(name, *_expired_readings(name)),
        "delete": lambda name: delete_page(name, ("This form had expired, so nothing was deleted.",)),
    })

    def _expired_answer(name: str):
        question = asked()
        outcome = expired_form(desk_of(name), [question], request.form, asked=True)
        return outcome.desk, question, outcome

    def _expired_readings(name: str):
        outcome = expired_form(desk_of(name), offered(), request.form)
        return outcome.desk, outcome

    @app.get("/job/<name>/answers")
    def answers(name: str):
        desk = desk_of(name)
        return render_template("answers.html", name=name, desk=desk, groups=views.answered_groups(desk))

    @app.get("/job/<name>/why/<what>")
    @app.get("/job/<name>/why")
    def explained(name: str, what: str | None = None):
        desk = desk_of(name, whole=what is None)
        answer = desk.answer if what else with_changes(shop.knowledge, desk.answer, shop.prices)  # look-ups stay in it
        return render_template("why.html", name=name, desk=desk,
                               explanation=explained_in(why(shop.knowledge, answer, what), shop.settings.units))

    @app.route("/job/<name>/delete", methods=["GET", "POST"])
    def delete(name: str):
        if request.method == "POST":
            delete_job(job_path(folder, name))
            return redirect("/", 303)
        return delete_page(name)

    from .engines import add_engines
    from .papers import add_papers
    from .prices import add_prices
    from .settings import add_settings

    add_papers(app, shop, desk_of, again)
    add_decisions(app, shop, desk_of, again)
    add_engines(app, folder, shop, again)
    add_prices(app, shop, live, desk_of, again)
    add_settings(app, shop, live, again)

    def error_page(title: str, lines: list[str]):
        return render_template("error.html", title=title, lines=lines, typed=_typed())

    @app.errorhandler(HowdeepError)
    def bad_input(error: HowdeepError):
        if isinstance(error, NoJob):
            return error_page("404 Not Found", [fault.message for fault in error.faults]), 404
        return error_page("This cannot be read or saved", [
            f"{Path(fault.file).name}:{fault.line}: " * bool(fault.file) + fault.message
            + (f" ({fault.hint})" if fault.hint else "") for fault in error.faults]), 422

    @app.errorhandler(HTTPException)
    def refused(error: HTTPException):
        return error_page(f"{error.code} {error.name}", [error.description or ""]), error.code

    @app.errorhandler(Exception)
    def defect(error: Exception):
        app.logger.exception("internal fault")
        lines = ["Nothing was saved by this step. Earlier answers are on disk."]
        return error_page("The program has a fault", lines), 500

    return app


def _typed() -> list[tuple[str, str]]:
    """What a form that could not be taken held, for the page that says so; nothing of forms from elsewhere."""
    if request.method != "POST" or request.endpoint == "enter" or not getattr(g, "own_form", False):
        return []
    return [(key, value) for key, value in request.form.items(multi=True) if value.strip()
            and key not in ("form_token", "observation", "question") and not key.startswith(("was.", "theirs."))
            and not key.endswith(".unit")]
