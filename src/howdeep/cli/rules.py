"""howdeep rules: check the rule base, explain a check, show an entry, write schemas, the page and the sources."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .options import JsonOption, RulesOption, knowledge_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from rich.console import RenderableType

    from ..assessment.session import Shop
    from ..cases.moves import Moves

app = typer.Typer(
    help="The rule base: check it, look things up, see the sources.", no_args_is_help=True, rich_markup_mode=None
)


@app.command()
def check(
    rules: RulesOption = None,
    code: Annotated[
        list[str] | None,
        typer.Option("--code", metavar="CODE", help="Only this check; may be given again.", show_default=False),
    ] = None,
    notes: Annotated[bool, typer.Option("--notes", help="Show notes as well as errors and warnings.")] = False,
    cases: Annotated[
        Path | None,
        typer.Option(
            "--cases",
            metavar="FOLDER",
            help="Worked cases that the rules are held against; without it the shipped ones.",
            show_default=False,
        ),
    ] = None,
    without_cases: Annotated[
        bool, typer.Option("--without-cases", help="Leave out the checks that need the worked cases.")
    ] = False,
    json: JsonOption = False,
) -> None:
    """Run every check over the rule base. Exit code 1 where an error or warning stands."""
    from ..assessment.session import open_shop
    from ..knowledge.cache import load_cached
    from ..knowledge.where import rule_folders, shipped_cases
    from ..rulecheck.casework import case_runs
    from ..rulecheck.run import run
    from ..rulecheck.subject import Subject, read_sheets
    from ..show.rules_text import check_json, check_text

    folders = rule_folders(rules)
    shop = open_shop(rules, None, None, example_prices=True)
    engines, faults, questions = read_sheets(folders)
    runs = None if without_cases else case_runs(shop, cases or shipped_cases())
    shipped = load_cached(folders[:1]) if len(folders) > 1 else None
    report = run(Subject(shop.knowledge, engines, runs, faults, questions, shipped), code or ())
    moved = None
    if runs is not None and len(folders) > 1 and not code:
        moved = _moves(shop, cases or shipped_cases(), every=False)
    if json:
        typer.echo(check_json(report, shop.knowledge.replaced, moved))
    else:
        _print(check_text(report, shop.knowledge.replaced, notes=notes))
        if moved is not None:
            from ..show.moves_text import moves_lines

            typer.echo("\nWHAT THE SHOP'S OWN RULES MOVE")
            for line in moves_lines(shop.knowledge, moved):
                typer.echo(line)
    if not report.clean:
        raise typer.Exit(1)


@app.command()
def moves(
    rules: RulesOption = None,
    every: Annotated[
        bool, typer.Option("--all", help="Answer every worked case, not only those that the folder touches most.")
    ] = False,
    cases: Annotated[
        Path | None,
        typer.Option(
            "--cases", metavar="FOLDER", help="Worked cases; without it the shipped ones.", show_default=False
        ),
    ] = None,
    json: JsonOption = False,
) -> None:
    """What the shop's own rules move in the worked cases. They are answered with and without them, and it is said which
    entry did it.

    Leading causes, answers, prices, and every hold, caution and danger that is lost.
    """
    from ..assessment.session import open_shop
    from ..errors import HowdeepError
    from ..knowledge.where import rule_folders, shipped_cases
    from ..show.moves_text import moves_json, moves_lines

    if len(rule_folders(rules)) < 2:
        raise HowdeepError("there are no rules of the shop's own to look at; name their folder with --rules")
    shop = open_shop(rules, None, None, example_prices=True)
    found = _moves(shop, cases or shipped_cases(), every=every)
    if json:
        typer.echo(moves_json(found))
        return
    for line in moves_lines(shop.knowledge, found):
        typer.echo(line)


def _moves(shop: Shop, cases: Path, *, every: bool) -> Moves:
    """What the shop's own rules move, told on the error output how far it is."""
    import dataclasses
    import sys

    from ..cases.moves import moves_of
    from ..knowledge.cache import load_cached

    def progress(done: int, of: int) -> None:
        if of > 40 and done % 20 == 0 and sys.stderr.isatty():
            typer.echo(f"{done} of {of} cases", err=True)

    shipped = dataclasses.replace(shop, knowledge=load_cached(shop.folders[:1]), folders=shop.folders[:1], over=None)
    return moves_of(shipped, shop, cases, every=every, progress=progress)


@app.command()
def explain(
    code: Annotated[
        str | None,
        typer.Argument(metavar="[CODE]", help="Code of a check; without it, all are listed.", show_default=False),
    ] = None,
) -> None:
    """What a check looks for, why it matters and what to do. With a bad and a good example."""
    from ..rulecheck.run import explain as explanation
    from ..show.rules_text import codes_text

    if code is None:
        _print(codes_text())
    else:
        typer.echo(explanation(code), nl=False)


@app.command()
def show(
    what: Annotated[
        str,
        typer.Argument(
            metavar="ID",
            help="Id of a cause, finding, observation, check, "
            "operation, scope, hold, caution, part ...; kind/id; CAUSE/FINDING.",
        ),
    ],
    rules: RulesOption = None,
) -> None:
    """One entry of the rule base. What it says, what it points to, and what points to it.

    Of a cause also the entries of published works that list it. CAUSE/FINDING shows how often that cause brings that
    finding, and what the word rests on.
    """
    from ..casebook.read import naming, read_handbooks
    from ..knowledge.cache import load_cached
    from ..knowledge.where import rule_folders, shipped_handbooks, shipped_rules
    from ..rulebook.entry import find_portraits
    from ..rulecheck.links import word_of
    from ..show.rules_text import handbooks_text, portrait_text, word_text

    told = word_of(load_cached(rule_folders(rules)), what) if "/" in what else None
    if told is not None:
        _print(word_text(told))
        return
    shipped = (shipped_rules(),)  # what is printed is written in the shipped ids, whatever a shop lays over them
    for number, entry in enumerate(find_portraits(load_cached(rule_folders(rules)), what)):
        if number:
            typer.echo("")
        _print(portrait_text(entry))
        if entry.kind == "causes":
            base = load_cached(shipped)
            _print(handbooks_text(base, naming(read_handbooks(shipped_handbooks(), base, shipped), entry.id)))


@app.command()
def schema(
    name: Annotated[
        str | None,
        typer.Argument(
            metavar="[NAME]",
            help="Name of a schema, e.g. job; without it, all are listed or written.",
            show_default=False,
        ),
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FOLDER", help="Write into this folder instead.", show_default=False)
    ] = None,
    names: Annotated[
        bool,
        typer.Option(
            "--names",
            help="Write the ids of the rule base into them, so that an "
            "editor offers causes, findings and answers by name.",
        ),
    ] = False,
    rules: RulesOption = None,
) -> None:
    """JSON Schema for rule files, sheets, price lists and jobs. An editor completes and checks them with it."""
    from ..errors import Fault, HowdeepError, nearest
    from ..files.whole import write_whole
    from ..knowledge.cache import load_cached
    from ..knowledge.engines import sheet_ids
    from ..knowledge.kinds import kind_files
    from ..knowledge.schema import schema as schema_of
    from ..knowledge.schema import schema_names, schema_text
    from ..knowledge.schema_names import with_names
    from ..knowledge.where import rule_folders

    known = schema_names()
    if name is not None and name not in known:
        raise HowdeepError(Fault("", 0, 0, f"there is no schema '{name}'", nearest(name, known) or ", ".join(known)))
    if name is None and out is None:
        typer.echo("\n".join(known))
        return
    folders = rule_folders(rules)
    knowledge = load_cached(folders) if names else None
    texts = {}
    for each in [name] if name else known:
        plain = schema_of(each)
        if knowledge is not None:
            plain = with_names(each, plain, knowledge, [*sheet_ids(folders), *kind_files(folders), "unknown"])
        texts[each] = schema_text(plain)
    if out is None:  # then one was named
        typer.echo("".join(texts.values()), nl=False)
        return
    for each, text in texts.items():
        _write(out / f"{each}.json", text, write_whole)
    typer.echo(f"{len(texts)} written to {out}")


@app.command()
def page(
    out: Annotated[Path, typer.Argument(metavar="FILE", help="Where the page is written (HTML).")],
    rules: RulesOption = None,
) -> None:
    """The whole rule base as one HTML page. It has links both ways and a graph for each system."""
    from ..files.whole import write_whole
    from ..show.rules_page import rules_page

    _write(out, rules_page(knowledge_of(rules)), write_whole)
    typer.echo(f"written: {out}")


@app.command()
def sources(
    rules: RulesOption = None,
    json: JsonOption = False,
    short: Annotated[bool, typer.Option("--short", help="Only the counts.")] = False,
) -> None:
    """Every statement of the rule base with where it comes from. Its standing, the work, and its frequency words."""
    from ..knowledge.frequencies import tallies
    from ..rulebook.statements import statements
    from ..show.rules_text import frequencies_text, statements_json, statements_text

    knowledge = knowledge_of(rules)
    found, counted = statements(knowledge), tallies(knowledge)
    if json:
        typer.echo(statements_json(found, counted))
    else:
        _print(statements_text(found, every=not short))
        _print(frequencies_text(counted))


def _print(parts: Iterable[RenderableType]) -> None:
    from ..show.console import make_console

    console = make_console(colour=False)
    for part in parts:
        console.print(part)


def _write(path: Path, text: str, write_whole: Callable[[Path, bytes], None]) -> None:
    from ..errors import Fault, HowdeepError

    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise HowdeepError(Fault(str(path.parent), 0, 0, f"cannot be made: {error.strerror or error}")) from None
    write_whole(path, text.encode("utf-8"))
