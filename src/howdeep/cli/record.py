"""The commands of the shop's own record: close a job, score a folder of them."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from ..clock import date_today
from ..errors import Fault, HowdeepError
from .options import JsonOption, PricesOption, RulesOption

if TYPE_CHECKING:
    from ..assessment.session import Shop
    from ..model.job import OpenJob
    from ..record.learn import Lesson
    from ..record.read import Folder

FileOption = Optional[Path]  # noqa: UP045


def register(app: typer.Typer) -> None:
    """Add the commands to the program."""

    @app.command()
    def close(
        job: Annotated[Path, typer.Argument(metavar="JOB", help="The job file.", show_default=False)],
        present: Annotated[
            list[str] | None,
            typer.Option(
                "--present", metavar="CAUSE", help="A cause that was there (may be given again).", show_default=False
            ),
        ] = None,
        absent: Annotated[
            list[str] | None,
            typer.Option(
                "--absent", metavar="CAUSE", help="A cause that was looked at and not there.", show_default=False
            ),
        ] = None,
        scope: Annotated[str, typer.Option("--scope", metavar="RUNG", help="Scope really done.")] = "",
        hours: Annotated[str, typer.Option("--hours", help="Hours worked.")] = "",
        bill: Annotated[
            str, typer.Option("--bill", "--cost", metavar="SUM", help="The final bill, with tax, e.g. 1240.00.")
        ] = "",
        came_back: Annotated[str, typer.Option("--came-back", metavar="yes|no", help="Same trouble again?")] = "",
        note: Annotated[str, typer.Option("--note", help="Anything else.")] = "",
        date: Annotated[str, typer.Option("--date", metavar="DATE", help="Date (default today).")] = "",
        rules: RulesOption = None,
    ) -> None:
        """Write down what was really found. With no option it asks; what was not looked at stays unknown."""
        from ..assessment.session import open_shop
        from ..job.write import save
        from ..record.close import close_change

        shop = open_shop(rules, None, job)
        opened = shop.open_job(job)
        causes = {**dict.fromkeys(present or (), "present"), **dict.fromkeys(absent or (), "absent")}
        both = sorted(set(present or ()) & set(absent or ()))
        if both:
            raise HowdeepError(f"'{both[0]}' cannot be both present and absent")
        answers = {"scope_done": scope, "hours": hours, "cost": bill, "came_back": came_back, "note": note}
        if not causes and not any(answers.values()):
            try:
                causes, answers = _asked(shop, opened)
            except EOFError:
                raise HowdeepError("the input ended before the last question; nothing was written") from None
        save(job, opened.digest, close_change(shop.knowledge, date=date or date_today(), causes=causes, **answers))
        typer.echo(f"Closed: {job} ({len(causes)} cause{'s' * (len(causes) != 1)} looked at).")

    @app.command()
    def record(
        folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="The folder of jobs.", show_default=False)],
        json: JsonOption = False,
        csv: Annotated[
            FileOption, typer.Option("--csv", metavar="FILE", help="Write the table as CSV.", show_default=False)
        ] = None,
        anonymous: Annotated[
            FileOption,
            typer.Option(
                "--anonymous",
                metavar="FILE",
                help="Write a table without names, numbers and free text (CSV).",
                show_default=False,
            ),
        ] = None,
        picture: Annotated[
            FileOption,
            typer.Option("--picture", metavar="FILE", help="Write the calibration picture (SVG).", show_default=False),
        ] = None,
        worth: Annotated[
            bool, typer.Option("--worth", help="Also what each question and check gave (slower).")
        ] = False,
        rerun: Annotated[
            bool, typer.Option("--rerun", help="Also which recommendations would change by today's rules.")
        ] = False,
        learn: Annotated[
            FileOption,
            typer.Option(
                "--learn",
                metavar="FOLDER",
                help="Write proposed changes of the words to FOLDER, to be read before use.",
                show_default=False,
            ),
        ] = None,
        pooled: Annotated[
            bool,
            typer.Option(
                "--pooled",
                help="Also what all jobs say together of each frequency word, and how many jobs stand behind it.",
            ),
        ] = False,
        force: Annotated[bool, typer.Option("--force", help="Replace files that are there.")] = False,
        rules: RulesOption = None,
        prices: PricesOption = None,
    ) -> None:
        """How good the advice was, over all closed jobs of a folder. Exit code 1 where files were left out."""
        from ..assessment.session import open_shop
        from ..files.packed import unpacked_word
        from ..files.whole import write_whole
        from ..record import export
        from ..record.pooled import factors
        from ..record.read import read_folder
        from ..record.rerun import answer_worth
        from ..record.rerun import rerun as run_again
        from ..record.score import record_of
        from ..show.as_json import plain, text_of
        from ..show.console import make_console
        from ..show.record_text import calibration_picture, record_text

        if not folder.is_dir():
            raise HowdeepError(Fault(str(folder), 0, 0, "there is no such folder"))
        shop = open_shop(rules, prices, folder / "any.yaml")
        read = read_folder(folder, shop.folders, shop.prices, findings=pooled or learn is not None, progress=_progress)
        scored = record_of(read.rows)
        gave = answer_worth(shop.knowledge, folder, shop.folders, read.rows, shop.prices) if worth else ()
        again = run_again(shop.knowledge, folder, shop.folders, read.rows, shop.prices) if rerun else None
        lessons = _learn(shop, folder, read, learn, force) if learn is not None else ()
        together = factors(shop.knowledge, read.rows, {row.name: row.stated for row in read.rows}) if pooled else ()
        if csv:
            write_whole(csv, export.csv_text(export.table(read.rows)).encode(), force=force)
        if anonymous:
            write_whole(anonymous, export.csv_text(export.anonymous_table(read.rows)).encode(), force=force)
        if picture and scored.causes:
            write_whole(
                picture, calibration_picture(scored.causes, "How well the odds of causes held").encode(), force=force
            )
        if json:
            typer.echo(
                text_of(
                    {
                        "howdeep_record": 1,
                        "open": read.open,
                        "damaged": list(read.damaged),
                        **plain(scored),
                        "jobs_table": export.table(read.rows),
                        "answers": plain(gave),
                        "rerun": plain(again),
                        "lessons": plain(lessons),
                        "pooled": plain(together),
                    }
                )
            )
        else:
            console = make_console()
            for part in record_text(shop.knowledge, read, scored, gave, again, lessons, together):
                console.print(part)
            word = unpacked_word(folder, date_today())
            if word:
                console.print(f"\n{word}", markup=False)
        if read.damaged:
            raise typer.Exit(1)


def _progress(done: int, total: int) -> None:
    if total >= 400:
        print(f"\r{done} of {total} jobs read", end="\n" if done == total else "", file=sys.stderr, flush=True)


def _learn(shop: Shop, folder: Path, read: Folder, target: Path, force: bool) -> tuple[Lesson, ...]:
    """Lessons from two thirds of the jobs, held against the other third and the cases, and written as an overlay."""
    from ..record.check_lessons import held_back, report
    from ..record.learn import learn, proposals
    from ..record.overlay import overlay_texts, write_overlay
    from ..record.pooled import factors

    taught, kept = held_back(read.rows)
    stated = {row.name: row.stated for row in taught}
    lessons = proposals(learn(shop.knowledge, taught, stated, factors(shop.knowledge, taught, stated)))
    if not lessons:
        print("No word would change: the jobs agree with the rules, or there are too few of them.", file=sys.stderr)
        return lessons
    for path in write_overlay(target, overlay_texts(shop.knowledge, lessons), force=force):
        print(f"Written: {path}", file=sys.stderr)
    for line in report(shop, folder, kept, target):
        print(line, file=sys.stderr)
    return lessons


def _asked(shop: Shop, opened: OpenJob) -> tuple[dict[str, str], dict[str, str]]:
    """Ask at the keyboard for what was found, the likeliest causes first."""
    from ..model.terms import RUNGS

    answer = shop.assess(opened, checks=False, flips=False)
    print("For each: p = it was there, a = looked at and sound, Enter = not looked at, q = no more.")
    causes: dict[str, str] = {}
    for belief in answer.beliefs:
        typed = input(f"  {shop.knowledge.causes[belief.cause].title}: ").strip().lower()
        if typed == "q":
            break
        if typed in ("p", "a"):
            causes[belief.cause] = "present" if typed == "p" else "absent"
    return causes, {
        "scope_done": input(f"Scope really done ({', '.join(RUNGS)}): ").strip(),
        "hours": input("Hours worked: ").strip(),
        "cost": input("The final bill, with tax: ").strip(),
        "came_back": input("Came back with the same trouble (yes, no, Enter = not known): ").strip(),
        "note": input("Note: ").strip(),
    }
