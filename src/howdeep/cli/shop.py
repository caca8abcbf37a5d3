"""The shop's settings from the command line: asked for once, shown, changed."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from ..errors import Fault, HowdeepError, nearest
from .options import PlainOption, RulesOption, knowledge_of

app = typer.Typer(
    invoke_without_command=True,
    help="What the shop says once and uses everywhere. Letterhead, who "
    "signs, guarantee and terms, altitude, units, floor of a promise, tools it does not own. Kept in "
    "shop.yaml beside the jobs.",
)

FolderOption = Annotated[
    Path, typer.Option("--folder", metavar="FOLDER", help="The folder of jobs (default: this one).", show_default=False)
]


@app.callback()
def shop(
    context: typer.Context, folder: FolderOption = Path(), rules: RulesOption = None, no_colour: PlainOption = False
) -> None:
    """What the shop says once and uses everywhere. Letterhead, who signs, guarantee and terms, altitude, units, floor
    of a promise, and the tools it does not own. Without more it asks; each answer is saved in shop.yaml beside the jobs
    before the next question."""
    if context.invoked_subcommand is not None:
        return
    from ..show.console import make_console
    from ..terminal.shop import run_shop

    run_shop(_path(folder), knowledge_of(rules), make_console(colour=not no_colour), input)


@app.command("show")
def show(folder: FolderOption = Path(), rules: RulesOption = None, no_colour: PlainOption = False) -> None:
    """Show what the shop has said, where it is used, what is not said."""
    from ..shop.read import load_shop
    from ..show.console import make_console
    from ..show.shop_text import shop_lines

    path = _path(folder)
    knowledge = knowledge_of(rules)
    console = make_console(colour=not no_colour)
    settings = load_shop(path if path.exists() or path.is_symlink() else None, knowledge)
    for line in shop_lines(knowledge, settings, path if path.exists() else None):
        console.print(line)


@app.command("set")
def set_(
    key: Annotated[
        str,
        typer.Argument(
            metavar="KEY",
            help="name, address, phone, email, signs, guarantee, terms, "
            "altitude, units, promise_floor, firm_floor, next_number, number_prefix, or a "
            "tool.",
            show_default=False,
        ),
    ],
    value: Annotated[
        str,
        typer.Argument(
            metavar="VALUE", help="The value; 'none' takes it out. For a tool: yes or no.", show_default=False
        ),
    ],
    folder: FolderOption = Path(),
    rules: RulesOption = None,
) -> None:
    """Set one thing by its name. 'howdeep shop set altitude "1200 ft"', 'howdeep shop set leakage_tester no'."""
    from ..shop.keys import place_of, plain_value
    from ..shop.write import put_settings

    knowledge = knowledge_of(rules)
    path = _path(folder)
    place = place_of(knowledge, key)
    if place is None:
        from ..shop.keys import keys

        known = keys(knowledge)
        raise HowdeepError(
            Fault(
                "", 0, 0, f"there is nothing called '{key}' to set", nearest(key, known) or f"known: {', '.join(known)}"
            )
        )
    put_settings(path, knowledge, {place: plain_value(place, value)})
    typer.echo(f"Set in {path}: {key} = {value}.")


def _path(folder: Path) -> Path:
    from ..shop.read import NAME, find_shop

    if not folder.is_dir():
        raise HowdeepError(Fault(str(folder), 0, 0, "there is no such folder"))
    return find_shop(folder) or folder / NAME
