"""The commands of the offer: the quote, the letter that explains it, and the order list of its parts."""

from __future__ import annotations

import dataclasses
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from .paper import (
    DateOption,
    JobFile,
    OnlyOption,
    PaperOptions,
    PromiseOption,
    RungOption,
    TwoStepOption,
    date_of,
    gone,
    paper_command,
    rung_of,
    with_head,
    write_file,
)

if TYPE_CHECKING:
    from ..assessment.session import Shop
    from ..model.results import Assessment
    from ..quote.estimate_values import Estimate
    from ..quote.values import Quote


NOT_IN_TWO_STEPS = (
    "--two-step is not on this page: no work is priced on it yet, for something is found out first. "
    "Name a depth with --scope to have the tear-down offered."
)


NO_PRICE_OF_IT = "--two-step is not on this page: the price list has no price of a tear-down (teardown_inspection)."


def register(app: typer.Typer) -> None:
    """Add the commands to the program."""

    @app.command()
    @paper_command
    def quote(
        job: JobFile,
        scope: RungOption = None,
        only: OnlyOption = False,
        compare: Annotated[
            str | None,
            typer.Option("--compare", metavar="RUNG", help="Set another scope beside it.", show_default=False),
        ] = None,
        two_step: TwoStepOption = False,
        annex: Annotated[bool, typer.Option("--annex", help="With every line and its reason behind it.")] = False,
        shop_copy: Annotated[
            bool, typer.Option("--shop-copy", help="The shop's copy: the annex with the evidence behind every line.")
        ] = False,
        date: DateOption = None,
        *,
        given: PaperOptions,
        letter: Annotated[bool, gone("--letter", "howdeep letter JOB")] = False,
        order: Annotated[bool, gone("--order", "howdeep order JOB")] = False,
        promise: Annotated[Optional[str], gone("--promise", "howdeep promise make JOB NAME")] = None,  # noqa: UP045
        show: Annotated[Optional[str], gone("--show", "howdeep promise show JOB NAME")] = None,  # noqa: UP045
        since: Annotated[Optional[str], gone("--since", "howdeep promise changes JOB NAME")] = None,  # noqa: UP045
        approve: Annotated[str | None, gone("--approve", "howdeep promise approve JOB SUM --by NAME --how HOW")] = None,
        by: Annotated[str | None, gone("--by", "howdeep promise approve JOB SUM --by NAME --how HOW")] = None,
        how: Annotated[str | None, gone("--how", "howdeep promise approve JOB SUM --by NAME --how HOW")] = None,
    ) -> None:
        """The estimate on one page, for the customer to sign. What was found, what is proposed, its price and what
        may turn up. --annex adds every line with its reason."""
        from ..quote.build import build_quote
        from ..quote.jobs import asked_for
        from ..quote.numbered import estimate_content
        from ..quote.promised import offered
        from .numbers import number_for
        from .pairs import QUOTE, refuse_idle

        refuse_idle(
            QUOTE,
            {
                "scope": scope,
                "only": only,
                "compare": compare,
                "two-step": two_step,
                "annex": annex,
                "shop-copy": shop_copy,
                "date": date,
                **given.forms(),
            },
        )
        shop, answer = given.answered(job)
        key = asked_for(shop.knowledge, answer, rung_of(shop, scope), only=only)
        made = build_quote(shop.knowledge, answer, shop.prices, key, two_step=two_step or None)
        other = build_quote(shop.knowledge, answer, shop.prices, rung_of(shop, compare)) if compare else None
        estimate = offered(
            shop.knowledge,
            answer,
            made,
            shop.prices,
            shop.settings,
            asked=scope is not None or only,
            date=(date or "") if given.json else date_of(date),
        )
        if two_step and estimate.inspect is None:
            typer.echo(f"howdeep: {NOT_IN_TWO_STEPS}", err=True)
        elif two_step and estimate.inspect is not None and estimate.inspect.inspection is None:
            typer.echo(f"howdeep: {NO_PRICE_OF_IT}", err=True)
        if given.printed and not estimate.number:
            number, _ = number_for(shop, job, answer.job, "estimate", estimate_content(made, estimate), made.total)
            estimate = dataclasses.replace(estimate, number=number or None)
        give_estimate(shop, answer, made, estimate, given, annex=annex, shop_copy=shop_copy, compare=other)
        if not (given.printed or given.json) and sys.stdin.isatty() and sys.stdout.isatty():
            from ..show.console import make_console
            from .prices import offer_fill

            offer_fill(job, made, answer, given.prices, shop, make_console(colour=not given.no_colour), input)

    @app.command()
    @paper_command
    def letter(
        job: JobFile,
        scope: RungOption = None,
        only: OnlyOption = False,
        promise: PromiseOption = None,
        date: DateOption = None,
        *,
        given: PaperOptions,
    ) -> None:
        """The letter that explains the estimate to the customer. Whole sentences, with a place to sign."""
        from ..show.as_json import plain, text_of
        from ..show.paper_parts import letter_of
        from ..show.price_notes import price_notes
        from ..show.quote_text import letter_text
        from .pairs import LETTER, refuse_idle

        refuse_idle(LETTER, {"scope": scope, "only": only, "promise": promise, "date": date, **given.forms()})
        shop, answer = given.answered(job)
        made, estimate = _asked(shop, answer, promise, scope, only, date_of(date))
        told, number = (
            letter_of(shop.knowledge, answer, estimate, price_notes(made, estimate.date or date_of(date))),
            estimate.number,
        )
        if given.printed:
            from ..show.letter_page import letter_page

            given.write(
                shop,
                letter_page(
                    told,
                    made,
                    answer,
                    shop=shop.prices.shop,
                    units=shop.settings.units,
                    date=estimate.date or date_of(date),
                    number=number or "",
                ),
            )
        elif given.json:
            typer.echo(text_of({"howdeep_letter": 1, "job": made.job or made.rung, **plain(told)}))
        else:
            given.say(with_head(letter_text(told), shop, answer, estimate.date or date_of(date), number, signed=False))

    @app.command()
    @paper_command
    def order(
        job: JobFile,
        scope: RungOption = None,
        only: OnlyOption = False,
        promise: PromiseOption = None,
        csv: Annotated[
            Path | None, typer.Option("--csv", metavar="FILE", help="Write it as CSV.", show_default=False)
        ] = None,
        *,
        given: PaperOptions,
    ) -> None:
        """The order list, supplier by supplier. What can be ordered now, what waits for which measurement, and what
        is held back."""
        from ..quote.orders import order_csv, order_of
        from ..show.as_json import plain, text_of
        from ..show.general import general_sentence
        from .pairs import ORDER, refuse_idle

        refuse_idle(ORDER, {"scope": scope, "only": only, "promise": promise, "csv": csv, **given.forms()})
        shop, answer = given.answered(job)
        made, _ = _asked(shop, answer, promise, scope, only, date_of(None))
        order = order_of(shop.knowledge, answer, shop.prices, made.job or made.rung)
        if csv:
            write_file(csv, order_csv(order).encode(), force=given.force)
        if given.printed:
            from ..show.order_page import order_page

            given.write(shop, order_page(order, answer, shop=shop.prices.shop, units=shop.settings.units))
        elif given.json:
            general = {"general": text} if (text := general_sentence(answer)) else {}
            typer.echo(text_of({"howdeep_order": 1, "job": made.job or made.rung, **general, **plain(order)}))
        elif not csv:
            from ..show.order_text import order_text

            given.say(
                with_head(
                    order_text(order, general=general_sentence(answer)), shop, answer, date_of(None), signed=False
                )
            )


def give_estimate(
    shop: Shop,
    answer: Assessment,
    made: Quote,
    estimate: Estimate,
    given: PaperOptions,
    *,
    annex: bool = False,
    shop_copy: bool = False,
    compare: Quote | None = None,
) -> None:
    """An estimate as a page, as PDF, as JSON, or in the terminal."""
    from ..show.price_notes import price_notes

    day, units = estimate.date or date_of(None), shop.settings.units
    notes = price_notes(made, day)
    if given.printed:
        from ..show.annex import annex_of
        from ..show.estimate_page import estimate_page

        behind = (
            annex_of(
                made, shop.knowledge, answer, estimate, shop_copy=shop_copy, compare=compare, date=day, units=units
            )
            if annex or shop_copy or compare
            else None
        )
        given.write(shop, estimate_page(estimate, shop=shop.prices.shop, annex=behind, units=units, notes=notes))
        return
    if given.json:
        from ..quote.promise import quote_to_plain
        from ..show.as_json import text_of
        from ..show.general import general_sentence

        told = {"general": general} if (general := general_sentence(answer)) else {}
        typer.echo(text_of({"howdeep_quote": 1, **told, **quote_to_plain(made), "estimate": quote_to_plain(estimate)}))
        return
    from ..show import quote_text as texts
    from ..show.estimate_text import estimate_text
    from ..show.spoken import spoken

    given.say(spoken(estimate_text(estimate, shop.prices.shop, notes), units))
    if annex or shop_copy:
        given.say(spoken(texts.quote_text(made, shop_copy=shop_copy, today=day), units))
    if compare:
        from ..show.annex import work_apart

        given.say(spoken(texts.compare_text(made, compare, work_apart(made, compare)), units))


def _asked(
    shop: Shop, answer: Assessment, promise: str | None, scope: str | None, only: bool, date: str
) -> tuple[Quote, Estimate]:
    """The quote and the estimate that a paper speaks of: a promise as made, also where one stands and nothing else is
    asked for; else today's for the job asked for."""
    from ..quote.build import build_quote
    from ..quote.jobs import asked_for
    from ..quote.promise import stored
    from ..quote.promised import offered, promise_standing, promised_estimate

    asked = scope is not None or only
    promise = promise if promise is not None or asked else promise_standing(answer.job) or None
    if promise is not None:
        made, estimate, _ = promised_estimate(
            shop.knowledge, answer, stored(answer.job, promise), shop.prices, shop.settings, answer.job.path
        )
        return made, estimate
    made = build_quote(
        shop.knowledge, answer, shop.prices, asked_for(shop.knowledge, answer, rung_of(shop, scope), only=only)
    )
    return made, offered(shop.knowledge, answer, made, shop.prices, shop.settings, asked=asked, date=date)
