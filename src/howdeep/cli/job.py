"""The commands that set what no question asks for: a hold waived, the place of the tests, notes and photographs."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from ..clock import date_today
from ..errors import Fault, HowdeepError, nearest
from .options import RulesOption

JobFile = Annotated[Path, typer.Argument(metavar="JOB", help="The job file.", show_default=False)]


def register(app: typer.Typer) -> None:
    """Add the commands to the program."""

    @app.command()
    def waive(
        job: JobFile,
        hold: Annotated[
            str,
            typer.Argument(
                metavar="HOLD", show_default=False, help="The hold, 'floor' or 'two_steps', as the refusal names it."
            ),
        ],
        by: Annotated[str, typer.Option("--by", metavar="NAME", help="Who decided.", show_default=False)],
        how: Annotated[
            str,
            typer.Option("--how", metavar="HOW", help="How: in person, by telephone, in writing.", show_default=False),
        ],
        reason: Annotated[str, typer.Option("--reason", metavar="TEXT", help="Why the check is not made.")] = "",
        date: Annotated[str, typer.Option("--date", metavar="DATE", help="Date (default today).")] = "",
        rules: RulesOption = None,
    ) -> None:
        """Go on without what stands before a promise. Who decided so is kept in the job and stands on the papers."""
        from ..assessment.session import open_shop
        from ..job.decide import waiving
        from ..job.write import save
        from ..model.job import OTHER_WAIVERS
        from ..quote.held import refuse_idle_waiver

        shop = open_shop(rules, None, job)
        if hold not in shop.knowledge.holds and hold not in OTHER_WAIVERS:
            raise HowdeepError(
                Fault(
                    "",
                    0,
                    0,
                    f"there is no hold '{hold}'",
                    nearest(hold, (*shop.knowledge.holds, *OTHER_WAIVERS))
                    or f"besides holds: {', '.join(OTHER_WAIVERS)}",
                )
            )
        opened = shop.open_job(job)
        if hold not in OTHER_WAIVERS:
            refuse_idle_waiver(shop.assess(opened, checks=False, flips=False), hold)
        save(job, opened.digest, waiving(hold, by=by, how=how, reason=reason, date=date or date_today()))
        typer.echo(f"Waived in {job}: {OTHER_WAIVERS.get(hold) or shop.knowledge.holds[hold].title}, by {by}, {how}.")

    @app.command()
    def place(
        job: JobFile,
        altitude: Annotated[
            str,
            typer.Option("--altitude", metavar="HEIGHT", help="Altitude of the place, with unit: '1200 ft', '800 m'."),
        ] = "",
        air: Annotated[
            str,
            typer.Option(
                "--air-temperature", metavar="TEMP", help="Temperature of the air at the tests, with unit: '60 degF'."
            ),
        ] = "",
        rules: RulesOption = None,
    ) -> None:
        """Set where the readings were taken. Thin air lowers compression and vacuum; without it sea level is taken."""
        from ..assessment.session import open_shop
        from ..job.decide import placing
        from ..job.write import save

        if not altitude and not air:
            raise HowdeepError("say the altitude (--altitude '1200 ft') or the temperature of the air")
        opened = open_shop(rules, None, job).open_job(job)
        save(job, opened.digest, placing(altitude=altitude, air_temperature=air))
        typer.echo(f"Set in {job}: {', '.join(filter(None, (altitude, air)))}.")

    @app.command()
    def note(
        job: JobFile,
        text: Annotated[
            list[str] | None,
            typer.Argument(metavar="[TEXT]", help="The note; without it the notes are read out.", show_default=False),
        ] = None,
        rules: RulesOption = None,
    ) -> None:
        """Write a note into a job, with today's date. It moves no answer; without TEXT the notes are read out."""
        from ..assessment.session import open_shop
        from ..job.kept import noting
        from ..job.write import save

        opened = open_shop(rules, None, job).open_job(job)
        if not text:
            for entry in opened.job.notes:
                typer.echo(f"{entry.date}  {entry.text}")
            if not opened.job.notes:
                typer.echo(f"No notes in {job}.")
            return
        save(job, opened.digest, noting(" ".join(text), date_today()))
        typer.echo(f"Noted in {job}.")

    @app.command()
    def photo(
        job: JobFile,
        file: Annotated[
            Path | None,
            typer.Argument(
                metavar="[FILE]",
                help="The picture; without it those kept are listed and looked after.",
                show_default=False,
            ),
        ] = None,
        of: Annotated[
            str,
            typer.Option(
                "--of",
                metavar="WHAT",
                help="What it shows: a reading, such as bore_look, or words.",
                show_default=False,
            ),
        ] = "",
        rules: RulesOption = None,
    ) -> None:
        """Keep a photograph beside a job, with what it shows. It is named by its hash; a small copy is for paper."""
        from ..assessment.session import open_shop
        from ..job.kept import photo_faults, photo_folder, photo_of, put_beside, showing
        from ..job.paper_copy import put_paper_copy
        from ..job.write import save

        shop = open_shop(rules, None, job)
        opened = shop.open_job(job)
        if file is None:
            for entry in opened.job.photos:
                known = shop.knowledge.observations.get(entry.of)
                typer.echo(f"{entry.date}  {known.title if known else entry.of}: {photo_folder(job) / entry.file}")
            faults = photo_faults(job, opened.job.photos)
            for text in faults:
                typer.echo(f"howdeep: {text}", err=True)
            if not opened.job.photos:
                typer.echo(f"No photographs of {job}.")
            if faults:
                raise typer.Exit(1)
            return
        entry, data = photo_of(file, of, date_today())
        if "_" in entry.of and " " not in entry.of and entry.of not in shop.knowledge.observations:
            hint = nearest(entry.of, shop.knowledge.observations)
            if hint:
                raise HowdeepError(Fault("", 0, 0, f"there is no reading '{entry.of}'", hint))
        put_beside(job, entry, data)
        save(job, opened.digest, showing(entry))
        typer.echo(f"Kept as {photo_folder(job) / entry.file}, entered in {job}.")
        try:
            typer.echo(f"For paper, small and without place and time: {put_paper_copy(job, entry, data)}")
        except HowdeepError as error:  # the original is kept all the same
            typer.echo(f"howdeep: {error}", err=True)
