"""The commands of a promise: made, shown, what moved since, and the customer's yes."""

from __future__ import annotations

import dataclasses
import datetime
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ..errors import Fault, Held, HowdeepError
from .options import PricesOption, RulesOption
from .paper import (
    DateOption,
    JobFile,
    OnlyOption,
    PaperOptions,
    Papers,
    RungOption,
    TwoStepOption,
    answered,
    date_of,
    paper_command,
    rung_of,
    with_head,
)
from .quote import give_estimate

if TYPE_CHECKING:
    from ..assessment.session import Shop
    from ..model.job import OpenJob
    from ..model.results import Assessment
    from ..quote.values import ChangeSheet

app = typer.Typer(
    cls=Papers, no_args_is_help=True, help="A promise: made, shown, what moved since, the customer's yes."
)
NameArgument = Annotated[
    str, typer.Argument(metavar="[NAME]", help="The promise (default: the newest).", show_default=False)
]


@app.command("make")
@paper_command
def make(
    job: JobFile,
    name: Annotated[
        str,
        typer.Argument(
            metavar="[NAME]",
            help="Under which name it is kept (default: its number, else first, second ...).",
            show_default=False,
        ),
    ] = "",
    scope: RungOption = None,
    only: OnlyOption = False,
    two_step: TwoStepOption = False,
    date: DateOption = None,
    *,
    given: PaperOptions,
) -> None:
    """Make today's estimate a promise. It is kept exactly as made, and never changed. Refused (exit code 4) while
    something stands before it."""
    from ..job.write import save
    from ..quote.build import build_quote
    from ..quote.estimate import estimate_of
    from ..quote.held import refuse_promise
    from ..quote.jobs import asked_for
    from ..quote.numbered import estimate_content
    from ..quote.promise import free_name, promise_of, storing
    from ..show.price_notes import price_notes
    from .numbers import number_for
    from .pairs import PROMISE, refuse_idle

    refuse_idle(PROMISE, given.forms())
    shop, answer = given.answered(job)
    key = asked_for(shop.knowledge, answer, rung_of(shop, scope), only=only)
    made = build_quote(shop.knowledge, answer, shop.prices, key, two_step=two_step or None)
    refuse_promise(shop.knowledge, answer, shop.prices, made.job, made.enough)
    if made.total is None:
        raise Held(
            Fault(
                str(job),
                0,
                0,
                "some lines have no price, so there is no total to promise: "
                + ", ".join(line.title for line in made.unpriced),
                f"type them: 'howdeep prices fill {job}'",
            )
        )
    if name:
        storing(name, {})({"promises": answer.job.job.promises})  # a name that is taken takes no number
    on = date_of(date)
    estimate = estimate_of(
        shop.knowledge,
        answer,
        made,
        shop.prices,
        shop.settings,
        asked=scope is not None or only,
        promised=True,
        date=on,
        units=shop.settings.units,
    )
    number, digest = number_for(shop, job, answer.job, "estimate", estimate_content(made, estimate), made.total)
    name = name or free_name(answer.job.job.promises, number)
    estimate = dataclasses.replace(estimate, number=number or None)
    save(job, digest, storing(name, promise_of(shop.knowledge, answer, made, on, estimate, number=number)))
    typer.echo(f"Kept beside {job} as promise '{name}'.", err=True)
    for note in price_notes(made, on):
        typer.echo(f"Mind: {note}", err=True)
    give_estimate(shop, answer, made, estimate, given)


@app.command("show")
@paper_command
def show(job: JobFile, name: NameArgument = "last", *, given: PaperOptions) -> None:
    """Show a promise exactly as it was made."""
    from ..quote.promise import stored
    from ..quote.promised import promised_estimate
    from .pairs import PROMISE, refuse_idle

    refuse_idle(PROMISE, given.forms())
    shop, answer = given.answered(job)
    kept = stored(answer.job, name)
    made, estimate, signed = promised_estimate(shop.knowledge, answer, kept, shop.prices, shop.settings, str(job))
    give_estimate(shop, answer, made, estimate, given, annex=not signed and not given.json)


@app.command("changes")
@paper_command
def changes(job: JobFile, name: NameArgument = "last", *, given: PaperOptions) -> None:
    """The change sheet since a promise. What was found, what moved, and what needs the customer's yes."""
    from ..quote.change_sheet import sheet_to_plain
    from ..show.as_json import text_of
    from ..show.general import general_sentence
    from .pairs import PROMISE, refuse_idle

    refuse_idle(PROMISE, given.forms())
    shop, answer = given.answered(job)
    sheet, _ = _sheet(shop, job, answer, name, given_out=given.printed)
    if given.printed:
        from ..show.change_page import change_page

        page = change_page(
            sheet,
            answer,
            shop.prices.currency,
            shop=shop.prices.shop,
            signs=shop.settings.signs,
            units=shop.settings.units,
            pictures=_pictures(job, sheet),
        )
        given.write(shop, page)
    elif given.json:
        typer.echo(text_of(sheet_to_plain(sheet)))
    else:
        from ..show.change_text import change_text

        given.say(
            with_head(
                change_text(sheet, shop.prices.currency, general=general_sentence(answer)),
                shop,
                answer,
                date_of(None),
                sheet.number or None,
            )
        )


@app.command("approve")
def approve(
    job: JobFile,
    said: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[NAME] [SUM]",
            show_default=False,
            help="To which promise (default: the newest), and up to which sum, e.g. 1250.00; without a sum what the "
            "change sheet comes to, which is then kept with the yes.",
        ),
    ] = None,
    by: Annotated[str, typer.Option("--by", metavar="NAME", help="Who said yes.", show_default=False)] = "",
    how: Annotated[
        str, typer.Option("--how", metavar="HOW", help="How: in person, by telephone, in writing.", show_default=False)
    ] = "",
    of: Annotated[
        str,
        typer.Option("--promise", metavar="NAME", help="To which promise (default: the newest).", show_default=False),
    ] = "last",
    date: DateOption = None,
    time: Annotated[
        str, typer.Option("--time", metavar="HH:MM", help="At what time (default now).", show_default=False)
    ] = "",
    rules: RulesOption = None,
    prices: PricesOption = None,
) -> None:
    """Record the customer's yes: who, when and how. It is added to the job; the promise itself never moves."""
    from ..job.write import save
    from ..quote.change_sheet import keeping_yes
    from ..quote.promise import name_of, stored

    if not by.strip() or not how.strip():
        raise HowdeepError("a yes names who gave it (--by) and how (--how)")
    on, at = date_of(date), _time(time)
    shop, answer = answered(job, rules, prices, checks=False)
    of, value = _meant(answer.job, of, said or [])
    named = name_of(answer.job, of) if answer.job.job.promises or of != "last" else ""
    if named or value is None:
        stored(answer.job, named or of)
    sheet, digest = _sheet(shop, job, answer, named, given_out=True) if value is None else (None, answer.job.digest)
    change, total = keeping_yes(
        job, sheet, amount=value, by=by.strip(), how=how.strip(), date=on, time=at, promise=named
    )
    save(job, digest, change)
    typer.echo(f"Recorded in {job}: yes to {total:.2f} by {by.strip()}, {how.strip()}.")


def _meant(job: OpenJob, of: str, said: list[str]) -> tuple[str, Decimal | None]:
    """(the promise, the sum) of what was typed: a name, a sum, or both. Raises HowdeepError for what is neither."""
    *names, last = said or [""]
    if last and last not in job.job.promises:
        return _named(of, names), _sum(last, job)
    if last and _looks_like_a_sum(last):
        raise HowdeepError(
            Fault("", 0, 0, f"'{last}' is a promise and could be a sum", f"a sum is written {last}.00; else --promise")
        )
    return _named(of, [*names, *([last] if last else [])]), None


def _named(of: str, names: list[str]) -> str:
    """The promise by the option or by what stands before the sum."""
    if len(names) > 1 or (names and of != "last"):
        raise HowdeepError(f"one promise and one sum are taken; '{names[-1]}' is one word too many")
    return names[0] if names else of


def _looks_like_a_sum(text: str) -> bool:
    return text.isdecimal()


def _sheet(shop: Shop, path: Path, answer: Assessment, name: str, *, given_out: bool) -> tuple[ChangeSheet, str]:
    """(the change sheet, with a number where it has one or is given out by a shop that numbers; digest of the job). One
    on which nothing moved is no paper, and takes no number."""
    import dataclasses

    from ..quote.change_sheet import change_sheet, moves, said_of
    from ..quote.numbered import content_of, number_of
    from .numbers import number_for

    sheet = change_sheet(shop.knowledge, answer, shop.prices, name)
    content = content_of(said_of(sheet))
    number, digest = (
        number_for(shop, path, answer.job, "change sheet", content, sheet.total_after)
        if given_out and moves(sheet)
        else (number_of(answer.job.job, content), answer.job.digest)
    )
    return dataclasses.replace(sheet, number=number), digest


def _pictures(job: Path, sheet: ChangeSheet) -> dict[str, str]:
    """File -> the photograph as it stands in a page."""
    from ..files.small_picture import small_picture
    from ..job.kept import photo_folder

    return {photo.file: small_picture(photo_folder(job) / Path(photo.file).name) for photo in sheet.photos}


def _sum(text: str, job: OpenJob) -> Decimal:
    try:
        value = Decimal(text)
    except InvalidOperation:
        made = ", ".join(job.job.promises)
        raise HowdeepError(
            Fault(
                "", 0, 0, f"'{text}' is no sum such as 1250.00" + (f" and none of the promises {made}" if made else "")
            )
        ) from None
    if not value.is_finite() or not 0 < value <= 10_000_000:
        raise HowdeepError(f"'{text}' is not a sum such as 1250.00")
    return value.quantize(Decimal("0.01"))


def _time(text: str) -> str:
    if not text:
        return datetime.datetime.now().strftime("%H:%M")
    try:
        return datetime.time.fromisoformat(text).strftime("%H:%M")
    except ValueError:
        raise HowdeepError(f"'{text}' is not a time such as 14:30") from None
