"""The page's application: routes that read a job, show it, and save one change."""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from pathlib import Path
from typing import Literal

from flask import Flask, abort, g, redirect, render_template, request, url_for
from werkzeug.exceptions import HTTPException

from ..assessment.session import Shop
from ..clock import date_today
from ..errors import Fault, HowdeepError
from ..files.packed import unpacked_word
from ..files.strict_yaml import digest_of
from ..interview.own_words import complaints_offered, offered
from ..interview.session import Desk, Moved, Part
from ..job.sections import LATER, UNKNOWN
from ..model.job import OpenJob
from ..model.results import Assessment
from ..show.question_card import cautions_of
from ..show.spoken import explained_in
from ..show.why_answer import why
from ..show.why_asked import why_texts
from . import views
from .book import JobBook
from .card import job_card
from .cautions import mark_read
from .decisions import add_decisions
from .engine_words import engine_namer
from .guard import Again, guard
from .guesses import Guesses
from .heard import add_heard, heard_first, heard_page
from .jobs import NoJob, delete_job, job_path, require_job
from .keeping import add_keeping, photos_of
from .live import LiveShop, for_each_request, shop_now
from .passes import Passes
from .pictures import compression_picture
from .reckoner import Reckon, here
from .saving import Outcome, expired_form, save_form
from .sends import Sends, add_sends, saving
from .verdict import so_far, whole_verdict

KEEP = 32
"""Jobs whose answer is kept, and moves of answers."""
Need = Literal["talk", "checks", "whole"]
NEEDS: tuple[Need, ...] = ("talk", "checks", "whole")
"""What a page needs of an answer, each with all before it: the kind of answer, its odds and what each question is
worth; every check ranked, which takes twice as long again; where their outcomes lead and what is worth looking up,
which takes seconds."""
PARTS: dict[Need, Part] = {"talk": "beside", "checks": "both", "whole": "both"}


class Desks:
    """Assessed jobs as they stand: the same file and rule base give the same answer, so it is worked out once. One of
    each job is kept, for an answer takes megabytes."""

    def __init__(self, reckon: Reckon, book: JobBook) -> None:
        self.reckon, self.book, self.lock = reckon, book, threading.Lock()
        self.kept: OrderedDict[Path, tuple[Desk, Need]] = OrderedDict()

    def open(self, shop: Shop, path: Path, last: str = "", *, need: Need = "checks") -> Desk:
        """The desk of a job, as the shop is now, with at least what is needed of its answer."""
        if not path.is_file():
            raise NoJob("There is no such job; it may have been deleted.")
        try:
            digest = digest_of(path.read_bytes())
        except OSError as error:
            raise HowdeepError(Fault(path.name, 0, 0, f"cannot be read: {error.strerror or error}")) from None
        with self.lock:
            desk, has = self.kept.get(path, (None, NEEDS[0]))
            if desk is not None and (desk.shop is not shop or desk.job.digest != digest):
                desk = None
        if desk is None or NEEDS.index(has) < NEEDS.index(need):
            require_job(path)
            job = desk.job if desk is not None else shop.open_job(path)
            if need == "whole":
                answer = self.reckon("whole", shop, job)
            else:
                answer = self.part(shop, job, PARTS[need])
            desk = Desk(shop, path, job, answer)
            self.keep(desk, need)
        return Desk(shop, path, desk.job, desk.answer, last, part=PARTS[need], reckon=self.part)

    def part(self, shop: Shop, job: OpenJob, part: Part) -> Assessment:
        """The answer with what a part of the interview needs of it."""
        return self.reckon("part", shop, job, part)

    def keep(self, desk: Desk, has: Need = "talk") -> None:
        """Keep a desk with what it has of its answer."""
        if has == "talk" and desk.answer.checks:  # the kind of answer hung on them, or the talk is over
            has = "checks"
        self.book.told(desk.path, danger=desk.answer.decision.kind == "do_not_run")
        with self.lock:
            self.kept[desk.path] = (desk, has)
            self.kept.move_to_end(desk.path)
            while len(self.kept) > KEEP:
                self.kept.popitem(last=False)


def create_app(
    folder: Path,
    shop: Shop,
    *,
    hosts: frozenset[str] = frozenset({"localhost", "127.0.0.1"}),
    token: str = "",
    secret: bytes = b"",
    guesses: Guesses | None = None,
    prices: Path | None = None,
    passes: Passes | None = None,
    address: str = "",
    reckon: Reckon = here,
    sends: Sends | None = None,
) -> Flask:
    """The application for one folder of jobs. With a token, nothing is shown before it was entered, or one of `passes`
    was used; `address` is where other devices reach the page; `reckon` works out answers; `sends` are the forms
    that were sent before.

    `shop` is what the folder's price list (or the one named by `prices`) and settings gave; where either changes it is
    read anew. Without a `secret` one is made up, and open forms expire with this application.
    """
    app = Flask(__name__, static_folder="static", template_folder="templates")
    again: Again = {}
    guard(
        app,
        hosts=hosts,
        token=token,
        secret=secret or secrets.token_bytes(32),
        again=again,
        guesses=guesses or Guesses(),
        passes=passes,
    )
    add_sends(app, sends or Sends(None, folder))
    live = LiveShop(shop, folder, prices)
    book = JobBook(folder, engine_namer(shop.folders, folder))
    desks = Desks(reckon, book)
    shop = for_each_request(app, live)
    app.config["JOB_BOOK"] = book
    moves: OrderedDict[str, Moved] = OrderedDict()
    views.add_filters(app, shop)

    def desk_of(name: str, last: str = "", *, need: Need = "checks") -> Desk:
        return desks.open(shop_now(shop), job_path(folder, name), last, need=need)

    @app.get("/")
    def index():
        search, page = request.args.get("search", "")[:100], request.args.get("page", "1")
        found = book.page(search, int(page) if page.isascii() and page.isdigit() and len(page) < 6 else 1)
        return render_template(
            "index.html",
            search=search,
            **{name: getattr(found, name) for name in ("jobs", "page", "first", "last", "found", "total")},
            unpacked=unpacked_word(folder, date_today()),
        )

    @app.get("/job/<name>")
    def job(name: str):
        desk = desk_of(name, need="whole")
        return render_template(
            "job.html",
            name=name,
            desk=desk,
            view=whole_verdict(desk),
            card=job_card(desk, name),
            photos=photos_of(desk, name),
            compression=compression_picture(desk.answer.facts, desk.shop.settings.units),
        )

    def ask_page(name: str, desk: Desk, question: str, outcome: Outcome | None = None, again: bool = False):
        answers = shop.knowledge.observations["complaint"].answers
        matches = (
            [answers[name] for name in complaints_offered(shop.knowledge, desk.job.job.customer.words)][1:]
            if question == "complaint"
            else ()
        )
        state = desk.flow
        asked_for = [text for _, text in why_texts(desk, state.next, question, {})] if question else []
        return render_template(
            "ask.html",
            name=name,
            desk=desk,
            state=state,
            question=question,
            matches=matches,
            offer=offered(shop.knowledge, desk.job, question) if question and outcome is None else "",
            asked_for=asked_for,
            cautions=cautions_of(desk, question) if question else (),
            moved=moves.get(f"{name} {desk.job.digest}"),
            outcome=outcome,
            again=again,
            view=so_far(desk),
            card=job_card(desk, name),
            asking=True,
        )

    @app.get("/job/<name>/ask")
    def ask(name: str):
        wanted, last = request.args.get("question", ""), request.args.get("last", "")
        if wanted and wanted not in shop.knowledge.observations:
            abort(404, "There is no such question.")
        desk = asked_desk(name, wanted, last)
        if not wanted and not last and (heard := heard_first(desk)) is not None:
            return heard_page(name, desk, heard)
        state = desk.flow
        if not wanted and state.next is None:  # the talk is over, and the bench goes by the ranking
            desk = desk_of(name, last)
        return ask_page(name, desk, wanted or (state.next.observation if state.next else ""), again=bool(wanted))

    def asked_desk(name: str, question: str, last: str = "") -> Desk:
        """The desk for a question: why it is asked is told of the counter by its worth, of the bench by the ranking."""
        at_bench = question and shop.knowledge.observations[question].moment != "talk"
        return desk_of(name, last, need="checks" if at_bench else "talk")

    def asked() -> str:
        question = request.form.get("question", "")
        if question not in shop.knowledge.observations:
            abort(404, "There is no such question.")
        return question

    @app.post("/job/<name>/answer")
    def answer(name: str):
        question = asked()
        how = request.form.get("how", "")
        with saving(url_for("ask", name=name, last=question)):
            outcome = save_form(
                job_path(folder, name),
                lambda: desk_of(name, need="talk"),
                [question],
                request.form,
                how=how if how in (UNKNOWN, LATER) else "",
                asked=True,
            )
        if outcome.status != 303:
            return ask_page(name, asked_desk(name, question), question, outcome, again=True), outcome.status
        keep(name, outcome.desk)
        return mark_read(redirect(url_for("ask", name=name, last=question), 303), cautions_of(outcome.desk, question))

    def keep(name: str, saved: Desk) -> None:
        desks.keep(saved)
        if saved.moved:
            moves[f"{name} {saved.job.digest}"] = saved.moved
            while len(moves) > KEEP:
                moves.popitem(last=False)

    def delete_page(name: str, faults: tuple[str, ...] = ()):
        return render_template("delete.html", name=name, desk=desk_of(name, need="talk"), faults=faults)

    def _expired_answer(name: str):
        question = asked()
        outcome = expired_form(asked_desk(name, question), [question], request.form, asked=True)
        return ask_page(name, outcome.desk, question, outcome, again=True)

    again.update(
        {
            "answer": _expired_answer,
            "delete": lambda name: delete_page(name, ("This form had expired, so nothing was deleted.",)),
        }
    )

    @app.get("/job/<name>/answers")
    def answers(name: str):
        desk = desk_of(name, need="talk")
        return render_template("answers.html", name=name, desk=desk, groups=views.answered_groups(desk))

    @app.get("/job/<name>/why/<what>")
    @app.get("/job/<name>/why")
    def explained(name: str, what: str | None = None):
        desk = desk_of(name, need="checks" if what else "whole")
        answer = desk.answer if what else reckon("changes", desk.shop, desk.job, desk.answer)  # look-ups stay in it
        return render_template(
            "why.html",
            name=name,
            desk=desk,
            explanation=explained_in(why(shop.knowledge, answer, what), shop.settings.units),
        )

    @app.route("/job/<name>/delete", methods=["GET", "POST"])
    def delete(name: str):
        if request.method == "POST":
            delete_job(job_path(folder, name))
            return redirect("/", 303)
        return delete_page(name)

    from .begin import add_begin
    from .devices import add_devices
    from .engines import add_engines
    from .history import add_history
    from .leaving import add_leaving
    from .papers import add_papers
    from .price_check import add_price_check
    from .price_import import add_price_import
    from .prices import add_prices
    from .promises import add_promises
    from .readings import add_readings
    from .record import add_record
    from .settings import add_settings
    from .sheets import add_sheets

    add_begin(app, folder, shop, desk_of, again)
    add_heard(app, folder, desk_of, keep, again)
    add_readings(app, folder, shop, desk_of, keep, again)

    add_papers(app, shop, desk_of, again)
    add_decisions(app, shop, desk_of, again)
    add_promises(app, shop, live, desk_of, again)
    add_sheets(app, shop, desk_of)
    add_engines(app, folder, shop, again)
    add_prices(app, shop, live, desk_of, again)
    add_price_check(app, shop, live, again)
    add_price_import(app, folder, shop, live, again)
    add_settings(app, shop, live, again)
    add_record(app, folder, shop)
    add_history(app, shop, desk_of, again)
    add_keeping(app, shop, desk_of, again)
    add_devices(app, passes, address, again)
    add_leaving(app, token, passes, again)

    def error_page(title: str, lines: list[str]):
        return render_template("error.html", title=title, lines=lines, typed=_typed())

    @app.errorhandler(HowdeepError)
    def bad_input(error: HowdeepError):
        if isinstance(error, NoJob):
            return error_page("404 Not Found", [fault.message for fault in error.faults]), 404
        return error_page(
            "This cannot be read or saved",
            [
                f"{Path(fault.file).name}:{fault.line}: " * bool(fault.file)
                + fault.message
                + (f" ({fault.hint})" if fault.hint else "")
                for fault in error.faults
            ],
        ), 422

    @app.errorhandler(HTTPException)
    def refused(error: HTTPException):
        return error_page(f"{error.code} {error.name}", [error.description or ""]), error.code

    @app.errorhandler(Exception)
    def defect(error: Exception):
        app.logger.exception("internal fault")  # noqa: LOG004 - a handler of Flask, with the fault at hand
        lines = ["Nothing was saved by this step. Earlier answers are on disk."]
        return error_page("The program has a fault", lines), 500

    return app


def _typed() -> list[tuple[str, str]]:
    """What a form that could not be taken held, for the page that says so; nothing of forms from elsewhere."""
    if request.method != "POST" or request.endpoint == "enter" or not getattr(g, "own_form", False):
        return []
    return [
        (key, value)
        for key, value in request.form.items(multi=True)
        if value.strip()
        and key not in ("form_token", "observation", "question")
        and not key.startswith(("was.", "theirs."))
        and not key.endswith(".unit")
    ]
