"""The routes of engine sheets: the list, the card to print, and a form for each group that saves as one goes."""

from __future__ import annotations

from pathlib import Path

from flask import Flask, Response, abort, redirect, render_template, request

from ..assessment.session import Shop
from ..errors import Fault, HowdeepError
from ..job.write import clean_text
from ..knowledge.engines import SHEETS, find, load_sheet
from ..knowledge.where import shipped_rules
from ..sheets.by_group import Filled, as_typed, fill_group, text_at, units_in
from ..sheets.card import card_of, shown
from ..sheets.draft import NAME, Draft, fields_of, is_known, open_draft, saved, sheet_id, value_at, with_values
from ..sheets.printed_units import OFFERED, PLURAL
from ..sheets.shelf import new_sheet_folder, shelf
from .guard import Again
from .jobs import NoJob
from .papers import PAPER_POLICY
from .saving import EXPIRED, fault_lines, lock_of


def add_engines(app: Flask, folder: Path, shop: Shop, again: Again) -> None:
    """Add the routes to the application."""

    def path_of(name: str) -> Path:
        if not NAME.fullmatch(name):
            raise NoJob("There is no such engine sheet.")
        try:
            return find(name, shop.folders, folder)
        except HowdeepError:
            raise NoJob("There is no such engine sheet; it may have been deleted.") from None

    def own_path(name: str) -> Path:
        """The file of a sheet that may be changed here: the shop's own, or one beside the jobs; no link."""
        path = path_of(name)
        if path.parent == shipped_rules() / SHEETS:
            raise HowdeepError(Fault("", 0, 0, f"'{name}' comes with the program and is not changed here"))
        if path.is_symlink():
            raise HowdeepError(Fault("", 0, 0, f"'{name}' is a link, and is not followed"))
        return path

    def draft_of(name: str) -> Draft:
        return open_draft(own_path(name), name, shop.folders)

    def list_page(faults: tuple[str, ...] = ()):
        return render_template("engines.html", sheets=shelf(shop.folders, folder), form=request.form, faults=faults)

    @app.route("/engines", methods=["GET", "POST"])
    def engines():
        if request.method == "GET":
            return list_page()
        name = " ".join(clean_text(request.form.get("name", ""))[:80].split())
        try:
            made = sheet_id(name)
            if made in {item.id for item in shelf(shop.folders, folder)}:
                return list_page((f"There is a sheet '{made}' already; take another name, or open it below.",)), 422
            draft = open_draft(new_sheet_folder(shop.folders, folder) / f"{made}.yaml", name, shop.folders)
            saved(draft, with_values(draft, {}))
        except HowdeepError as error:
            return list_page(fault_lines(error)), 422
        return redirect(f"/engine/{made}", 303)

    def form_page(name: str, draft: Draft, group: str = "", filled: Filled | None = None, faults: tuple[str, ...] = ()):
        typed = request.form if filled is not None or faults else {}
        return render_template(
            "engine.html",
            sheet=draft,
            id=name,
            open=group or _first_unknown(draft),
            filled=filled,
            faults=faults,
            typed=typed,
            fields_of=fields_of,
            known=_known,
            text_at=text_at,
            usual=_usual,
            units=units_in,
            offered=OFFERED,
            dimensions=PLURAL,
        )

    @app.get("/engine/<name>")
    def engine(name: str):
        return form_page(name, draft_of(name))

    @app.post("/engine/<name>/<group>")
    def save_engine(name: str, group: str):
        path = own_path(name)
        form = {key: clean_text(text)[:2000] for key, text in request.form.items()}
        with lock_of(path):
            draft = draft_of(name)
            if group not in draft.form.groups:
                abort(404, "There is no such group.")
            filled = fill_group(lambda: draft_of(name), group, form)
        if filled.back:
            return form_page(name, filled.draft, group, filled), 422
        return redirect(f"/engine/{name}?saved={group}#{_after(filled.draft, group)}", 303)

    def expired(name: str, group: str):
        return form_page(name, draft_of(name), group, faults=(EXPIRED,))

    again.update({"engines": lambda: list_page((EXPIRED,)), "save_engine": expired})

    @app.get("/engine/<name>/check")
    def engine_check(name: str):
        from ..files.strict_yaml import read
        from ..knowledge.plausible import plausible_table
        from ..knowledge.sheet_form import sheet_form
        from ..sheets.check import check_document

        path, checked = path_of(name), None
        broken: tuple[Fault, ...] = ()
        try:
            checked = check_document(
                read(path), sheet_form(shop.folders), plausible_table(shop.folders), shop.knowledge.operations
            )
        except HowdeepError as error:  # no YAML at all
            broken = error.faults
        return render_template(
            "engine_check.html",
            id=name,
            checked=checked,
            broken=broken,
            file=path.name,
            own=path.parent != shipped_rules() / SHEETS,
        )

    @app.get("/engine/<name>/card")
    def engine_card(name: str):
        from ..show.card_page import card_page

        path = path_of(name)
        page = card_page(card_of(open_draft(path, name, shop.folders), load_sheet(path, shop.folders).questions))
        response = Response(page, mimetype="text/html")
        response.headers["Content-Security-Policy"] = PAPER_POLICY
        return response


def _first_unknown(draft: Draft) -> str:
    """The first group in which something is not known."""
    groups = draft.form.groups
    return next(
        (name for name in groups if not all(is_known(path, draft) for path in fields_of(groups[name], draft))),
        next(iter(groups)),
    )


def _known(draft: Draft, group: str) -> int:
    """How many fields of a group somebody has given."""
    return sum(is_known(path, draft) for path in fields_of(draft.form.groups[group], draft))


def _after(draft: Draft, group: str) -> str:
    """The group that follows."""
    names = list(draft.form.groups)
    return names[(names.index(group) + 1) % len(names)]


def _usual(draft: Draft, path: str) -> str:
    """What is taken as usual where nobody has said, as a person reads it."""
    value, form = value_at(draft.plain, path), draft.form.field(path)
    return shown(value, form) if path in draft.assumed and form is not None and as_typed(value, form) else ""
