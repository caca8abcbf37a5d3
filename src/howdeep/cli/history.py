"""The commands of a job's journal: read it, take the last change back."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from ..errors import Fault, HowdeepError
from .options import JsonOption, RulesOption, knowledge_of

JobFile = Annotated[Path, typer.Argument(metavar="JOB", help="The job file.", show_default=False)]


def register(app: typer.Typer) -> None:
    """Add the commands to the program."""

    @app.command()
    def history(job: JobFile, rules: RulesOption = None, json: JsonOption = False) -> None:
        """What was changed in a job, when and by whom. The journal is checked line by line on the way."""
        from ..job.journal import read_journal
        from ..show.as_json import plain, text_of
        from ..show.history_text import history_lines

        _there(job)
        journal = read_journal(job)
        if json:
            typer.echo(text_of({"howdeep_history": 1, "lines": plain(journal.lines)}))
            return
        if not journal.lines:
            typer.echo(f"No journal yet: it begins with the next change of {job}.")
            return
        for line in history_lines(knowledge_of(rules), journal.lines):
            typer.echo(line)
        typer.echo(
            f"{len(journal.lines)} lines, each follows the one before it."
            + ("" if journal.text == _text(job) else " The file was changed by other means since the last.")
        )

    @app.command()
    def undo(job: JobFile, rules: RulesOption = None) -> None:
        """Take the last change of a job back. Again for the one before it. What was promised, waived, said yes to or
        found stays."""
        from ..job.take_back import take_back
        from ..show.history_text import line_words

        _there(job)
        line = take_back(job)
        typer.echo(f"Taken back: line {line.number}, {line_words(knowledge_of(rules), line)}")


def _there(job: Path) -> None:
    if not job.is_file():
        raise HowdeepError(Fault(str(job), 0, 0, "there is no such job"))


def _text(job: Path) -> str:
    from ..files.strict_yaml import read

    return read(job).text
