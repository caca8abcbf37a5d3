"""howdeep engine: make a sheet of an engine, check it, print its card, list what is there."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from .options import JsonOption, PlainOption, RulesOption

app = typer.Typer(
    help="Engine sheets: make one, check it, print its card, list them.", no_args_is_help=True, rich_markup_mode=None
)


@app.command()
def new(
    name: Annotated[
        str,
        typer.Argument(
            metavar="NAME",
            help="What the engine is called, such as 'ferrier 3'. A sheet of that name is gone on with.",
            show_default=False,
        ),
    ],
    rules: RulesOption = None,
    no_colour: PlainOption = False,
) -> None:
    """Make an engine sheet, typed as the manual prints it. Ten questions, then groups that can wait.

    Every answer is in the file before the next question. The sheet goes into the shop's folder (--rules or
    HOWDEEP_RULES), else into 'engines' beside the jobs in this folder; a job there names it by its name.
    """
    from ..errors import Fault, HowdeepError
    from ..knowledge.where import rule_folders, shipped_rules
    from ..sheets.draft import open_draft, sheet_id
    from ..sheets.shelf import new_sheet_folder
    from ..show.console import make_console
    from ..terminal.sheet import run

    folders, here = rule_folders(rules), Path.cwd()
    path = new_sheet_folder(folders, here) / f"{sheet_id(name)}.yaml"
    if (shipped_rules() / "engines" / path.name).exists() and not path.exists():
        raise HowdeepError(
            Fault("", 0, 0, f"'{path.stem}' is the name of a sheet that comes with the program", "take another name")
        )
    path = _near(path, here)
    run(open_draft(path, " ".join(name.split()), folders), folders, make_console(colour=not no_colour), input)


@app.command()
def check(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The sheet (YAML).", show_default=False)],
    write: Annotated[
        bool, typer.Option("--write", help="Write what was understood into the file the sheet's way.")
    ] = False,
    usual: Annotated[
        bool,
        typer.Option(
            "--usual",
            help="With --write: fill in missing words of the build as is "
            "usual for such an engine, named under 'assumed'.",
        ),
    ] = False,
    rules: RulesOption = None,
    json: JsonOption = False,
) -> None:
    """Every fault of a sheet in one round. What is missing, words, units and ranges together.

    What was written as people write it (ohv, .013-.019, 65-70 ft-lb) is understood. Exit code 1 while something is
    to be put right or written.
    """
    from ..errors import HowdeepError
    from ..files.strict_yaml import read
    from ..knowledge.cache import load_cached
    from ..knowledge.plausible import plausible_table
    from ..knowledge.sheet_form import sheet_form
    from ..knowledge.where import rule_folders
    from ..sheets.check import check_document, with_usual, written
    from ..show.sheet_check_text import check_json, check_lines

    if usual and not write:
        raise HowdeepError("--usual does nothing alone; add --write")
    folders = rule_folders(rules)
    operations, form, table = load_cached(folders).operations, sheet_form(folders), plausible_table(folders)
    document = read(file)
    checked = check_document(document, form, table, operations)
    done = checked.understood[:0]
    if write:
        if usual:
            checked = with_usual(document, form, table, checked, operations)
        if checked.understood:
            written(file, document, checked)
            done = checked.understood
        document = read(file)
        checked = check_document(document, form, table, operations)
    if json:
        typer.echo(check_json(file, checked, done))
    else:
        for line in check_lines(file, checked, done):
            typer.echo(line)
    if not checked.clean:
        raise typer.Exit(1)


@app.command()
def show(
    name: Annotated[
        str,
        typer.Argument(metavar="NAME", help="A sheet by its name, or a file that ends in .yaml.", show_default=False),
    ],
    html: Annotated[
        Path | None, typer.Option("--html", metavar="FILE", help="Write one page for printing.", show_default=False)
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace FILE if it is there.")] = False,
    rules: RulesOption = None,
    json: JsonOption = False,
) -> None:
    """The spec card of an engine on one page. With a blank for every figure that nobody knows."""
    from ..errors import HowdeepError
    from ..files.whole import write_whole
    from ..knowledge.engines import load_sheet
    from ..knowledge.where import rule_folders
    from ..sheets.card import card_of
    from ..sheets.draft import open_draft
    from ..sheets.shelf import shelved_path
    from ..show.card_page import card_page
    from ..show.card_text import card_json, card_lines

    if html and json:
        raise HowdeepError("--json does nothing beside --html; leave out one of them")
    if force and not html:
        raise HowdeepError("--force does nothing alone; add --html FILE")
    folders = rule_folders(rules)
    path = shelved_path(name, folders, Path.cwd())
    card = card_of(open_draft(path, name, folders), load_sheet(path, folders).questions)
    if html:
        write_whole(html, card_page(card).encode("utf-8"), force=force)
        typer.echo(f"written: {html}")
    elif json:
        typer.echo(card_json(card))
    else:
        for line in card_lines(card):
            typer.echo(line)


@app.command("list")
def list_(rules: RulesOption = None, json: JsonOption = False) -> None:
    """Every sheet that a job in this folder can name. Kind, cylinders and bore stand beside the name."""
    from ..knowledge.where import rule_folders
    from ..sheets.shelf import shelf
    from ..show.shelf_text import shelf_json, shelf_lines

    sheets = shelf(rule_folders(rules), Path.cwd())
    if json:
        typer.echo(shelf_json(sheets))
        return
    for line in shelf_lines(sheets):
        typer.echo(line)


def _near(path: Path, here: Path) -> Path:
    """A path as a person in this folder would write it."""
    try:
        return path.relative_to(here)
    except ValueError:
        return path
