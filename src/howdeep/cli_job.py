"""The commands that set what no question asks for: a hold waived, the place of the tests."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Annotated

import typer

from .cli_options import RulesOption
from .errors import Fault, HowdeepError, nearest

JobFile = Annotated[Path, typer.Argument(metavar="JOB", help="The job file.", show_default=False)]


def register(app: typer.Typer) -> None:
    """Add the commands to the program."""

    @app.command()
    def waive(
        job: JobFile,
        hold: Annotated[str, typer.Argument(metavar="HOLD", show_default=False, help="The hold, "
                                            "'floor' or 'two_steps', as the refusal names it.")],
        by: Annotated[str, typer.Option("--by", metavar="NAME", help="Who decided.", show_default=False)],
        how: Annotated[str, typer.Option("--how", metavar="HOW", help="How: in person, by telephone, in writing.",
                                         show_default=False)],
        reason: Annotated[str, typer.Option("--reason", metavar="TEXT", help="Why the check is not made.")] = "",
        date: Annotated[str, typer.Option("--date", metavar="DATE", help="Date (default today).")] = "",
        rules: RulesOption = None,
    ) -> None:
        """Go on without what stands before a promise: who decided so is kept in the job and stands on the papers."""
        from .job.decide import waiving
        from .job.write import save
        from .model.job import OTHER_WAIVERS
        from .quote.held import refuse_idle_waiver
        from .session import open_shop

        shop = open_shop(rules, None, job)
        if hold not in shop.knowledge.holds and hold not in OTHER_WAIVERS:
            raise HowdeepError(Fault("", 0, 0, f"there is no hold '{hold}'",
                                     nearest(hold, (*shop.knowledge.holds, *OTHER_WAIVERS))
                                     or f"besides holds: {', '.join(OTHER_WAIVERS)}"))
        opened = shop.open_job(job)
        if hold not in OTHER_WAIVERS:
            refuse_idle_waiver(shop.assess(opened, checks=False, flips=False), hold)
        save(job, opened.digest, waiving(hold, by=by, how=how, reason=reason,
                                         date=date or datetime.date.today().isoformat()))
        typer.echo(f"Waived in {job}: {OTHER_WAIVERS.get(hold) or shop.knowledge.holds[hold].title}, by {by}, {how}.")

    @app.command()
    def place(
        job: JobFile,
        altitude: Annotated[str, typer.Option("--altitude", metavar="HEIGHT", help="Altitude of the place, with unit: "
                                              "'1200 ft', '800 m'.")] = "",
        air: Annotated[str, typer.Option("--air-temperature", metavar="TEMP", help="Temperature of the air at the "
                                         "tests, with unit: '60 degF'.")] = "",
        rules: RulesOption = None,
    ) -> None:
        """Set where the readings were taken: thin air lowers compression and vacuum. Without it sea level is taken."""
        from .job.decide import placing
        from .job.write import save
        from .session import open_shop

        if not altitude and not air:
            raise HowdeepError("say the altitude (--altitude '1200 ft') or the temperature of the air")
        opened = open_shop(rules, None, job).open_job(job)
        save(job, opened.digest, placing(altitude=altitude, air_temperature=air))
        typer.echo(f"Set in {job}: {', '.join(filter(None, (altitude, air)))}.")
