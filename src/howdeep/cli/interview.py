"""The commands that talk: interview in the terminal, and the local page."""

from __future__ import annotations

import gc
from pathlib import Path
from typing import Annotated

import typer

from ..clock import date_today
from .options import PricesOption, RulesOption


def register(app: typer.Typer) -> None:
    """Add the commands to the program."""

    @app.command()
    def interview(
        job: Annotated[
            Path | None,
            typer.Argument(
                metavar="[JOB]",
                help="The job file to start or go on with; without it, a new file named by the date in this folder.",
                show_default=False,
            ),
        ] = None,
        rules: RulesOption = None,
        prices: PricesOption = None,
        no_colour: Annotated[bool, typer.Option("--no-colour", help="No colour (also NO_COLOR=1).")] = False,
    ) -> None:
        """Ask the customer what matters, one question at a time. Every answer is saved before the next question."""
        from ..assessment.session import open_shop
        from ..show.console import make_console
        from ..terminal.interview import run
        from ..terminal.prompt import Leave
        from ..terminal.screen import keyboard

        path = job or _dated(Path.cwd())
        console = make_console(colour=not no_colour)
        try:
            shop = open_shop(rules, prices, path)
            gc.freeze()  # the rule base stays: looking through it for garbage would hold up a question now and then
            run(shop, path, console, keyboard)
        except Leave:
            console.print(f"\nStopped before there was a job: {path} was not written.")
            raise typer.Exit(130) from None

    @app.command()
    def page(
        folder: Annotated[Path, typer.Argument(metavar="[FOLDER]", help="The folder of jobs.")] = Path(),
        port: Annotated[int, typer.Option("--port", min=1, max=65535, help="Port on this machine.")] = 8420,
        host: Annotated[
            str, typer.Option("--host", help="Listen beyond this machine; then a token is required.")
        ] = "127.0.0.1",
        token: Annotated[
            str,
            typer.Option("--token", envvar="HOWDEEP_TOKEN", help="The token that --host asks for.", show_default=False),
        ] = "",
        rules: RulesOption = None,
        prices: PricesOption = None,
    ) -> None:
        """Serve a folder of jobs as a local page. It has interview, readings, answer and quote, for this machine
        only."""
        from ..web.serve import serve

        serve(folder, host=host, port=port, token=token, rules=rules, prices=prices)


def _dated(folder: Path) -> Path:
    day = date_today()
    for number in range(1, 1000):
        path = folder / f"job-{day}-{number}.yaml"
        if not path.exists():
            return path
    raise typer.BadParameter("there are a thousand jobs of today in this folder already")
