"""The shop's price list from the command line: begun by questions, filled from a table or for one job, looked at."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ..clock import date_today
from ..errors import Fault, HowdeepError, nearest
from .options import JsonOption, PlainOption, PricesOption, RulesOption, knowledge_of

if TYPE_CHECKING:
    from rich.console import Console

    from ..assessment.session import Shop
    from ..model.results import Assessment
    from ..quote.values import Quote
    from ..terminal.prompt import Ask

app = typer.Typer(
    no_args_is_help=True,
    help="The shop's price list: begun, imported, filled, checked. Fifteen questions begin one; prices come from a CSV "
    "file; what a job's quote lacks is typed.",
)

ListFile = Annotated[
    Path,
    typer.Argument(
        metavar="FILE", help="The price list (prices.yaml beside the jobs is found by itself).", show_default=False
    ),
]


UsualListFile = Annotated[
    Path | None,
    typer.Argument(
        metavar="[FILE]",
        help="The price list; without it the one that would be used in this folder.",
        show_default=False,
    ),
]


@app.command("new")
def new(file: ListFile, rules: RulesOption = None, no_colour: PlainOption = False) -> None:
    """Begin a price list, or go on with one. The fifteen figures that matter most, then as many as you like.

    Everything else stands in it as an example and is marked so. Each answer is saved before the next question.
    """
    from ..show.console import make_console
    from ..terminal.prices import run_new
    from ..terminal.prompt import Leave

    console = make_console(colour=not no_colour)
    try:
        run_new(file, knowledge_of(rules), console, input)
    except Leave:
        console.print(f"\nStopped before there was a list: {file} was not written.")
        raise typer.Exit(130) from None


@app.command("import")
def import_(
    table: Annotated[
        Path, typer.Argument(metavar="FILE.csv", help="The table: a part and a price in each row.", show_default=False)
    ],
    into: Annotated[
        Path, typer.Option("--into", metavar="FILE", help="The price list to put them into.", show_default=False)
    ],
    accept_near: Annotated[
        bool,
        typer.Option(
            "--accept-near",
            help="Take what matches only nearly, too, without asking; not what may be two things or looks like a slip.",
        ),
    ] = False,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Only show what matches; write nothing.")] = False,
    engine: Annotated[
        str,
        typer.Option(
            "--engine", metavar="SHEET", help="Prices of parts for this engine sheet or kind alone.", show_default=False
        ),
    ] = "",
    part_column: Annotated[
        str,
        typer.Option(
            "--part-column", metavar="NAME", help="Heading (or number) of the column of parts.", show_default=False
        ),
    ] = "",
    price_column: Annotated[
        str,
        typer.Option(
            "--price-column", metavar="NAME", help="Heading (or number) of the column of prices.", show_default=False
        ),
    ] = "",
    date: Annotated[
        str | None,
        typer.Option("--date", metavar="DATE", help="Day from which they hold (default today).", show_default=False),
    ] = None,
    rules: RulesOption = None,
    no_colour: PlainOption = False,
) -> None:
    """Take prices from a CSV file. Shows what matches exactly, nearly or not at all, and writes what is sure.

    Column names, decimal commas, currency signs and encodings are found out; formulas are only text. What matches
    nearly is written after a yes alone.
    """
    import sys

    from ..pricing.csv_import import read_table
    from ..pricing.matching import matched
    from ..pricing.read import example_prices, load_prices
    from ..pricing.stand_ins import with_stand_ins
    from ..pricing.write import Figure, put_figures
    from ..show.console import make_console
    from ..show.import_text import import_lines
    from ..terminal.prices import near_question

    if accept_near and dry_run:
        raise HowdeepError(
            Fault(
                "",
                0,
                0,
                "--accept-near does nothing beside --dry-run: nothing is written",
                "leave out --accept-near or --dry-run",
            )
        )
    day = _day(date)
    knowledge = knowledge_of(rules)
    if not into.exists():
        raise HowdeepError(
            Fault(str(into), 0, 0, "there is no such price list", f"begin it with 'howdeep prices new {into}'")
        )
    if engine:
        _known_engine(engine, rules)
    prices = with_stand_ins(load_prices(into, knowledge), load_prices(example_prices(), knowledge))
    read = read_table(table, prices.currency, part_column=part_column, price_column=price_column)
    found = matched(knowledge, read.rows, prices, engine)
    console = make_console(colour=not no_colour)
    for line in import_lines(knowledge, read, found, prices):
        console.print(line)
    chosen = {match.places[0]: match for match in found if match.kind == "exact"}
    asking = not (accept_near or dry_run) and sys.stdin.isatty() and sys.stdout.isatty()
    every = accept_near
    for match in found if accept_near or asking else ():
        if match.kind != "near" or (accept_near and not match.one_meant) or (match.places[0] in chosen and not asking):
            continue
        place = match.places[0] if every and match.one_meant else near_question(knowledge, match, prices, input)
        if place == "all":
            every, place = True, match.places[0]
        if place == "stop":
            break
        if place:
            chosen[place] = match
    if dry_run:
        console.print("\nNothing was written (--dry-run).")
        return
    figures = {place: Figure(f"{match.row.price}", day) for place, match in sorted(chosen.items())}
    if figures:
        put_figures(into, knowledge, figures)
    left = sum(match.kind == "near" for match in found) - sum(match.kind == "near" for match in chosen.values())
    console.print(
        f"\nWritten to {into}: {len(figures)} prices of {day}."
        + (
            f" {left} that match only nearly were not written: --accept-near takes those that can mean one "
            "thing only; in a terminal each is asked about."
            if left
            else ""
        )
    )


@app.command("fill")
def fill(
    job: Annotated[
        Path, typer.Argument(metavar="JOB", help="The job whose quote is to be priced.", show_default=False)
    ],
    rules: RulesOption = None,
    prices: PricesOption = None,
    no_colour: PlainOption = False,
) -> None:
    """Type the prices that a job's quote lacks. Those that are only examples too; they are saved in the price list."""
    from ..assessment.session import open_shop
    from ..quote.build import build_quote
    from ..show.console import make_console

    shop = open_shop(rules, prices, job)
    answer = shop.assess(shop.open_job(job), checks=False, flips=False)
    made = build_quote(shop.knowledge, answer, shop.prices)
    console = make_console(colour=not no_colour)
    if not offer_fill(job, made, answer, prices, shop, console, input, asked=True):
        console.print("Every price of this quote is there and the shop's own.")


def offer_fill(
    job: Path,
    made: Quote,
    answer: Assessment,
    prices: Path | None,
    shop: Shop,
    console: Console,
    ask: Ask,
    *,
    asked: bool = False,
) -> bool:
    """Offer to type what a quote lacks; with `asked` it is begun at once. False where nothing is lacking.

    Raises HowdeepError where there is no list of the shop's own to save into.
    """
    from ..pricing.read import example_prices, find_prices
    from ..quote.lacking import lacking_places
    from ..terminal.prices import run_fill

    places = lacking_places(made)
    if not places:
        return False
    path = find_prices(prices, job.parent)
    if path == example_prices():
        own = job.parent / "prices.yaml"
        if asked:
            raise HowdeepError(
                Fault(
                    str(own),
                    0,
                    0,
                    "there is no price list of your own to save into",
                    f"begin it with 'howdeep prices new {own}'",
                )
            )
        return True
    many = len(places) > 1
    console.print(
        "\nOf this quote "
        + (f"{len(places)} prices are missing or examples." if many else "one price is missing or an example.")
    )
    offer = f"Type {f'these {len(places)}' if many else 'it'} now? (y = yes, Enter = no): "
    if not asked and ask(offer).strip().lower() not in ("y", "yes"):
        return True
    done = run_fill(path, shop.knowledge, places, answer.job.priced_as, console, ask)
    console.print(f"{done} of {len(places)} are yours now, in {path}.")
    return True


@app.command("show")
def show(
    file: UsualListFile = None,
    every: Annotated[bool, typer.Option("--all", help="Every figure, with its date.")] = False,
    rules: RulesOption = None,
    no_colour: PlainOption = False,
) -> None:
    """How far a price list is the shop's own. Examples, figures that are missing, figures that have grown old."""
    from ..knowledge.engines import sheet_ids
    from ..knowledge.kinds import kind_files
    from ..knowledge.where import rule_folders
    from ..pricing.read import find_prices, load_prices
    from ..show.console import make_console
    from ..show.prices_text import prices_lines

    path = file or find_prices(None, Path.cwd())
    knowledge = knowledge_of(rules)
    prices = load_prices(path, knowledge)
    console = make_console(colour=not no_colour)
    console.print(f"{prices.name} ({path}), {prices.currency}, {prices.date}")
    for line in prices_lines(knowledge, prices, date_today(), every=every):
        console.print(line)
    folders = rule_folders(rules)
    known = {*sheet_ids(folders, path.parent), *sheet_ids(folders, Path.cwd()), *kind_files(folders)}
    for name in prices.engine_parts:
        if name not in known:
            hint = nearest(name, known)
            console.print(
                f"  ! No engine sheet or kind '{name}' is here, so its prices are used by no job"
                + (f"; {hint}" if hint else "")
                + "."
            )


@app.command("check")
def check(file: UsualListFile = None, rules: RulesOption = None, json: JsonOption = False) -> None:
    """Every fault of a price list in one round. What cannot be, what can hardly be, what has no price.

    What can hardly be is a question: correct it, or say in the list that it is right: sure: {parts.piston: why}.
    Exit code 1 while something is to be put right.
    """
    from ..pricing.check import check_prices
    from ..pricing.read import find_prices
    from ..show.price_check_text import price_check_json, price_check_lines

    path = file or find_prices(None, Path.cwd())
    knowledge = knowledge_of(rules)
    checked = check_prices(path, knowledge, date_today())
    if json:
        typer.echo(price_check_json(path, checked))
    else:
        for line in price_check_lines(knowledge, path, checked):
            typer.echo(line)
    if not checked.clean:
        raise typer.Exit(1)


def _known_engine(name: str, rules: Path | None) -> None:
    from ..knowledge.engines import find
    from ..knowledge.kinds import kind_files
    from ..knowledge.where import rule_folders

    folders = rule_folders(rules)
    if name not in kind_files(folders):
        find(name, folders, Path.cwd())


def _day(given: str | None) -> str:
    from ..pricing.marks import is_date

    if given is not None and not is_date(given):
        raise HowdeepError(f"'{given}' is not a date such as 2026-01-31")
    return given or date_today()
