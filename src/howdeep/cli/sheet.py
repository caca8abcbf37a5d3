"""The commands of the bench: the assembly sheet, the proof sheet, and sheets to be filled in by hand."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .options import JsonOption, PlainOption, PricesOption, RulesOption
from .paper import (
    ForceOption,
    HtmlOption,
    JobFile,
    OnlyOption,
    Papers,
    PdfOption,
    RungOption,
    answered,
    date_of,
    rung_of,
    say,
    with_head,
    write_paper,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from rich.console import RenderableType

    from ..assessment.session import Shop
    from ..model.results import Assessment
    from ..quote.sheet_values import Sheets

app = typer.Typer(cls=Papers, no_args_is_help=True, help="Sheets for the bench, with blanks to fill in by hand.")


@app.command("assembly")
def assembly(
    job: JobFile,
    scope: RungOption = None,
    only: OnlyOption = False,
    html: HtmlOption = None,
    pdf: PdfOption = None,
    force: ForceOption = False,
    json: JsonOption = False,
    rules: RulesOption = None,
    prices: PricesOption = None,
    no_colour: PlainOption = False,
) -> None:
    """The assembly sheet: the steps in the order of assembly, figures, cautions, blanks."""
    from ..show.as_json import plain
    from ..show.general import general_sentence
    from ..show.sheet_page import assembly_page
    from ..show.sheet_text import assembly_text
    from .pairs import SHEET, refuse_idle

    refuse_idle(SHEET, {"html": html, "pdf": pdf, "force": force, "json": json})
    shop, answer, sheets = _sheets(job, rules, prices, scope, only)
    _give(
        shop,
        answer,
        page=lambda **head: assembly_page(sheets, answer, **head),
        text=lambda: assembly_text(sheets, general=general_sentence(answer)),
        plain={"howdeep_assembly": 1, **_general(answer), "parts": plain(sheets.parts)},
        html=html,
        pdf=pdf,
        force=force,
        json=json,
        no_colour=no_colour,
    )


@app.command("proof")
def proof(
    job: JobFile,
    scope: RungOption = None,
    only: OnlyOption = False,
    html: HtmlOption = None,
    pdf: PdfOption = None,
    force: ForceOption = False,
    json: JsonOption = False,
    rules: RulesOption = None,
    prices: PricesOption = None,
    no_colour: PlainOption = False,
) -> None:
    """The proof sheet: run-in, and the same tests as before with blanks for after."""
    from ..show.as_json import plain
    from ..show.sheet_page import proof_page
    from ..show.sheet_text import proof_text
    from .pairs import SHEET, refuse_idle

    refuse_idle(SHEET, {"html": html, "pdf": pdf, "force": force, "json": json})
    shop, answer, sheets = _sheets(job, rules, prices, scope, only)
    _give(
        shop,
        answer,
        page=lambda **head: proof_page(sheets, answer, **head),
        text=lambda: proof_text(sheets),
        plain={"howdeep_proof": 1, **_general(answer), "proof": plain(sheets.proof), "run_in": plain(sheets.run_in)},
        html=html,
        pdf=pdf,
        force=force,
        json=json,
        no_colour=no_colour,
    )


@app.command("blank")
def blank(
    job: JobFile,
    what: Annotated[
        str,
        typer.Option(
            "--for",
            metavar="WHAT",
            show_default=False,
            help="A test or check (compression_dry), 'teardown', 'bench' (the round of "
            "tests that decides) or 'all' (every test worth making); without it, what comes "
            "next.",
        ),
    ] = "",
    html: HtmlOption = None,
    pdf: PdfOption = None,
    force: ForceOption = False,
    json: JsonOption = False,
    rules: RulesOption = None,
    prices: PricesOption = None,
    no_colour: PlainOption = False,
) -> None:
    """A sheet to print and fill in by hand: conditions to tick, a place for every figure with what the engine sheet
    gives, in the order in which the bench asks for them afterwards."""
    from ..interview.to_fill import sheet_to_fill
    from ..show.as_json import plain, text_of
    from ..show.blank_text import blank_text
    from ..show.general import general_sentence
    from ..show.sheet_page import blank_page
    from .pairs import SHEET, refuse_idle

    refuse_idle(SHEET, {"html": html, "pdf": pdf, "force": force, "json": json})
    shop, answer = answered(job, rules, prices)
    sheet = sheet_to_fill(shop.knowledge, answer, what, shop.settings.units)
    if html or pdf:
        write_paper(
            shop, blank_page(sheet, answer, shop=shop.prices.shop, units=shop.settings.units), html, pdf, force=force
        )
    elif json:
        typer.echo(text_of({"howdeep_blank": 1, **plain(sheet)}))
    else:
        say(
            with_head(blank_text(sheet, general=general_sentence(answer)), shop, answer, date_of(None), signed=False),
            no_colour=no_colour,
        )


def _sheets(
    job: Path, rules: Path | None, prices: Path | None, scope: str | None, only: bool
) -> tuple[Shop, Assessment, Sheets]:
    """The sheets of the job that was asked for."""
    from ..quote.jobs import asked_for
    from ..quote.sheets import sheets_of

    shop, answer = answered(job, rules, prices, checks=False)
    key = asked_for(shop.knowledge, answer, rung_of(shop, scope), only=only)
    return shop, answer, sheets_of(shop.knowledge, answer, key, shop.settings.units)


def _general(answer: Assessment) -> dict[str, str]:
    """What the sheets say of figures that are general; nothing where the engine has a sheet."""
    from ..show.general import general_sentence

    told = general_sentence(answer)
    return {"general": told} if told else {}


def _give(
    shop: Shop,
    answer: Assessment,
    *,
    page: Callable[..., str],
    text: Callable[[], Iterable[RenderableType]],
    plain: dict[str, object],
    html: Path | None,
    pdf: Path | None,
    force: bool,
    json: bool,
    no_colour: bool,
) -> None:
    """A sheet as it was asked for: printed, as JSON or in the terminal; only what was asked for is made."""
    from ..show.as_json import text_of

    if html or pdf:
        write_paper(
            shop,
            page(shop=shop.prices.shop, signs=shop.settings.signs, units=shop.settings.units),
            html,
            pdf,
            force=force,
        )
    elif json:
        typer.echo(text_of(plain))
    else:
        say(with_head(text(), shop, answer, date_of(None)), no_colour=no_colour)
