"""The commands. Each reads its input, calls the step that does the work, and shows the result."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

import typer

from ..errors import HowdeepError
from .exit_codes import run
from .options import JsonOption, PlainOption, PricesOption, RulesOption, say_doubts

app = typer.Typer(
    name="howdeep",
    help="How deep must this old engine be opened? From symptoms and cheap tests to causes, scope, parts and an "
    "explained quote. It advises; the engine maker's manual governs.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
)

JobFile = Annotated[Path, typer.Argument(metavar="JOB", help="The job file (YAML).", show_default=False)]


BRIEF = frozenset({"assess", "why", "quote", "letter", "order", "promise", "sheet", "demo"})
"""Commands over in well under a second: collecting circular garbage on the way costs a tenth of it and frees nothing
that the end of the process does not."""


@app.callback(invoke_without_command=True)
def _top(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Print the version and leave.", is_eager=True)] = False,
) -> None:
    if context.invoked_subcommand not in BRIEF:
        gc.enable()
    if version:
        from .. import __version__

        typer.echo(f"howdeep {__version__}")
        raise typer.Exit


@app.command()
def assess(
    job: JobFile,
    rules: RulesOption = None,
    prices: PricesOption = None,
    json: JsonOption = False,
    no_colour: PlainOption = False,
    full: Annotated[bool, typer.Option("--full", help="Everything, part by part.")] = False,
    causes: Annotated[bool, typer.Option("--causes", help="Who has a hand in it, and why.")] = False,
    ladder: Annotated[bool, typer.Option("--ladder", help="Every job with chance and price.")] = False,
    checks: Annotated[bool, typer.Option("--checks", help="Checks, and where their outcomes lead.")] = False,
    work: Annotated[bool, typer.Option("--work", help="The work, each with its reason.")] = False,
    parts: Annotated[bool, typer.Option("--parts", help="The parts list.")] = False,
    tests: Annotated[bool, typer.Option("--tests", help="Tests before, during and after.")] = False,
    brief: Annotated[bool, typer.Option("--brief", hidden=True)] = False,
) -> None:
    """The answer on one screen: its kind, which job, why, what next."""
    from ..assessment.session import open_shop

    if brief:
        raise HowdeepError(
            "--brief is gone: without it the answer stands on one screen; everything is --full, a part "
            "is --causes, --ladder, --checks, --work, --parts or --tests"
        )

    named = tuple(
        name
        for name, given in (
            ("causes", causes),
            ("ladder", ladder),
            ("checks", checks),
            ("work", work),
            ("parts", parts),
            ("tests", tests),
        )
        if given
    )
    shop = open_shop(rules, prices, job)
    assessment = shop.assess(shop.open_job(job), flips=full or json or checks, changes=full or json, gaps=True)
    say_doubts(assessment, units=shop.settings.units)
    if json:
        from ..show.as_json import assessment_json

        typer.echo(assessment_json(shop.knowledge, assessment, shop.prices))
        return
    from ..show.console import make_console

    console = make_console(colour=not no_colour)
    if not full and not named:
        from ..show.answer_text import answer_lines

        for line in answer_lines(shop.knowledge, assessment, shop.prices, shop.settings.units):
            console.print(line, markup=False, highlight=False, no_wrap=True)
        return
    from ..show.assess_text import assessment_text

    for part in assessment_text(shop.knowledge, assessment, shop.prices, parts=named, units=shop.settings.units):
        console.print(part)


@app.command()
def why(
    job: JobFile,
    what: Annotated[
        str | None,
        typer.Argument(
            metavar="WHAT",
            help="A kind of answer (promise, stop ...), a job (refresh, refresh:only), a cause, "
            "finding, operation, hold, check or question; without it, the answer itself.",
            show_default=False,
        ),
    ] = None,
    rules: RulesOption = None,
    prices: PricesOption = None,
    json: JsonOption = False,
    no_colour: PlainOption = False,
) -> None:
    """Why the answer says so, down to answers, rules and sources."""
    from ..assessment.session import open_shop

    shop = open_shop(rules, prices, job)
    assessment = shop.assess(shop.open_job(job), flips=False, changes=what is None)
    from ..show.why_answer import why as explain

    explanation = explain(shop.knowledge, assessment, what)
    if json:
        from ..show.as_json import explanation_json

        typer.echo(explanation_json(explanation))
        return
    from ..show.console import make_console
    from ..show.spoken import explained_in
    from ..show.why_text import explanation_text

    console = make_console(colour=not no_colour)
    for part in explanation_text(explained_in(explanation, shop.settings.units), shop.knowledge, shop.settings.units):
        console.print(part)


@app.command()
def demo(no_colour: PlainOption = False) -> None:
    """The main job on a worked case that comes with the package."""
    from ..knowledge.where import shipped_cases

    case = shipped_cases() / "smoke_and_low_compression_with_dry_seals_stays_in_the_frame.yaml"
    typer.echo("The main job on a worked case; engine, customer and prices are invented.\n")
    assess(case, no_colour=no_colour)
    typer.echo(
        f"\nSee more of it: howdeep assess {case} --full\nAsk why: howdeep why {case}\n"
        "A job of your own: howdeep interview JOB"
    )


@app.command()
def cases(
    folder: Annotated[
        Path | None,
        typer.Argument(
            metavar="[FOLDER]", help="Folder of cases, or one case; without it the shipped ones.", show_default=False
        ),
    ] = None,
    keep: Annotated[
        bool,
        typer.Option(
            "--keep-figures",
            help="Afterwards keep the figures that the cases give now, in figures.json beside them: "
            "once you have read what moved.",
        ),
    ] = False,
    rules: RulesOption = None,
    json: JsonOption = False,
) -> None:
    """Run the worked cases. Reported is every expectation that does not hold, and every figure that moved."""
    from ..assessment.session import open_shop
    from ..cases.figures import figures_readable
    from ..cases.run import keep_figures, run_folder, run_one
    from ..knowledge.where import shipped_cases
    from ..show.cases_text import cases_json, cases_text

    shop = open_shop(rules, None, None, example_prices=True)
    where = folder or shipped_cases()
    place = where.parent if where.is_file() else where
    readable = not keep or figures_readable(place)  # a damaged file is no reason not to write a sound one
    results = run_one(shop, where) if where.is_file() and readable else run_folder(shop, where, figures=readable)
    typer.echo(cases_json(results) if json else cases_text(results))
    if keep:
        typer.echo(f"kept: {keep_figures(shop, place)}", err=True)
    if any(result.failures if keep else not result.holds for result in results):
        raise typer.Exit(1)


def _mount() -> None:
    """Add the commands that live in modules of their own."""
    from . import history as cli_history
    from . import interview as cli_interview
    from . import job as cli_job
    from . import pack as cli_pack
    from . import quote as cli_quote
    from . import record as cli_record
    from .engine import app as engine_app
    from .prices import app as prices_app
    from .promise import app as promise_app
    from .rules import app as rules_app
    from .sheet import app as sheet_app
    from .shop import app as shop_app

    for module in (cli_interview, cli_job, cli_history, cli_quote, cli_record, cli_pack):
        module.register(app)
    app.add_typer(rules_app, name="rules")
    app.add_typer(engine_app, name="engine")
    app.add_typer(promise_app, name="promise")
    app.add_typer(sheet_app, name="sheet")
    app.add_typer(prices_app, name="prices")
    app.add_typer(shop_app, name="shop")


_mount()


def keep_only(name: str) -> None:
    """Where `name` is a command, leave out all others: to make ready the options of every one takes a tenth of a
    second, and only the help of the whole and a misspelt name need them."""
    commands = [item for item in app.registered_commands if name == (item.name or _own_name(item.callback))]
    groups = [item for item in app.registered_groups if name == item.name]
    if commands or groups:
        app.registered_commands, app.registered_groups = commands, groups


def _own_name(callback: Callable[..., Any] | None) -> str:
    return "" if callback is None else callback.__name__.replace("_", "-")


def main() -> None:
    """Entry point: every fault in one clear line on standard error, and never a traceback."""
    gc.disable()
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")  # looking for some takes longer than reading a job
    keep_only(sys.argv[1] if len(sys.argv) > 1 else "")
    sys.exit(run(app))
