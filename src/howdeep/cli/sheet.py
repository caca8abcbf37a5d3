"""The commands of the bench: the assembly sheet, the proof sheet, and sheets to be filled in by hand."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ..model.frozen import dataclass
from .paper import JobFile, OnlyOption, PaperOptions, Papers, RungOption, date_of, paper_command, rung_of, with_head

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from rich.console import RenderableType

    from ..assessment.session import Shop
    from ..model.results import Assessment
    from ..quote.sheet_values import Sheets

app = typer.Typer(cls=Papers, no_args_is_help=True, help="Sheets for the bench, with blanks to fill in by hand.")


def _command(name: str, told: str, printed: Callable[[Sheets, Assessment], Printed]) -> None:
    """Add the command of a sheet that the work of a job fills; `told` is its help."""

    @app.command(name, help=told)
    @paper_command
    def sheet(job: JobFile, scope: RungOption = None, only: OnlyOption = False, *, given: PaperOptions) -> None:
        from .pairs import SHEET, refuse_idle

        refuse_idle(SHEET, given.forms())
        shop, answer, sheets = _sheets(job, given, scope, only)
        ways = printed(sheets, answer)
        if given.printed:
            page = ways.page(shop=shop.prices.shop, signs=shop.settings.signs, units=shop.settings.units)
            given.write(shop, page)
        elif given.json:
            from ..show.as_json import text_of

            typer.echo(text_of(ways.plain()))
        else:
            given.say(with_head(ways.text(), shop, answer, date_of(None)))


@dataclass(frozen=True, slots=True)
class Printed:
    """The ways in which a sheet is given; only what was asked for is made."""

    page: Callable[..., str]
    text: Callable[[], Iterable[RenderableType]]
    plain: Callable[[], dict[str, object]]


def _assembly(sheets: Sheets, answer: Assessment) -> Printed:
    from ..show.as_json import plain
    from ..show.general import general_sentence
    from ..show.sheet_page import assembly_page
    from ..show.sheet_text import assembly_text

    return Printed(
        lambda **head: assembly_page(sheets, answer, **head),
        lambda: assembly_text(sheets, general=general_sentence(answer)),
        lambda: {"howdeep_assembly": 1, **_general(answer), "parts": plain(sheets.parts)},
    )


def _proof(sheets: Sheets, answer: Assessment) -> Printed:
    from ..show.as_json import plain
    from ..show.sheet_page import proof_page
    from ..show.sheet_text import proof_text

    return Printed(
        lambda **head: proof_page(sheets, answer, **head),
        lambda: proof_text(sheets),
        lambda: {"howdeep_proof": 1, **_general(answer), "proof": plain(sheets.proof), "run_in": plain(sheets.run_in)},
    )


_command("assembly", "The assembly sheet: steps in order, figures, cautions, blanks.", _assembly)
_command("proof", "The proof sheet: run-in, and the same tests with blanks.", _proof)


@app.command("blank")
@paper_command
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
    *,
    given: PaperOptions,
) -> None:
    """A sheet to print and fill in by hand. Conditions to tick, a place for every figure with what the engine sheet
    gives, in the order in which the bench asks for them afterwards."""
    from ..interview.to_fill import sheet_to_fill
    from ..show.as_json import plain, text_of
    from ..show.blank_text import blank_text
    from ..show.general import general_sentence
    from ..show.sheet_page import blank_page
    from .pairs import SHEET, refuse_idle

    refuse_idle(SHEET, given.forms())
    shop, answer = given.answered(job)
    sheet = sheet_to_fill(shop.knowledge, answer, what, shop.settings.units)
    if given.printed:
        given.write(shop, blank_page(sheet, answer, shop=shop.prices.shop, units=shop.settings.units))
    elif given.json:
        typer.echo(text_of({"howdeep_blank": 1, **plain(sheet)}))
    else:
        given.say(
            with_head(blank_text(sheet, general=general_sentence(answer)), shop, answer, date_of(None), signed=False)
        )


def _sheets(job: Path, given: PaperOptions, scope: str | None, only: bool) -> tuple[Shop, Assessment, Sheets]:
    """The sheets of the job that was asked for."""
    from ..quote.jobs import asked_for
    from ..quote.sheets import sheets_of

    shop, answer = given.answered(job, checks=False)
    key = asked_for(shop.knowledge, answer, rung_of(shop, scope), only=only)
    return shop, answer, sheets_of(shop.knowledge, answer, key, shop.settings.units)


def _general(answer: Assessment) -> dict[str, str]:
    """What the sheets say of figures that are general; nothing where the engine has a sheet."""
    from ..show.general import general_sentence

    told = general_sentence(answer)
    return {"general": told} if told else {}
