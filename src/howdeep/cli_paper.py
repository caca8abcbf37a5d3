"""The commands that put the promise on paper: quote and sheet."""

from __future__ import annotations

import datetime
import sys
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from .cli_options import JsonOption, PlainOption, PricesOption, RulesOption, say_doubts
from .errors import Fault, Held, HowdeepError

if TYPE_CHECKING:
    from .session import Shop

JobFile = Annotated[Path, typer.Argument(metavar="JOB", help="The job file.", show_default=False)]
HtmlOption = Annotated[Optional[Path], typer.Option(  # noqa: UP045
    "--html", metavar="FILE", help="Write one self-contained page for printing.", show_default=False)]
ForceOption = Annotated[bool, typer.Option("--force", help="Replace FILE if it is there.")]
RungOption = Annotated[Optional[str], typer.Option(  # noqa: UP045
    "--scope", metavar="RUNG", help="Another scope than the recommended one, the whole of it.", show_default=False)]
OnlyOption = Annotated[bool, typer.Option("--only", help="Only what cures what was noticed, at that depth.")]


def _rung(shop: Shop, given: str | None) -> str | None:
    from .errors import nearest

    if given is not None and given not in shop.knowledge.scopes:
        raise HowdeepError(Fault("", 0, 0, f"there is no scope '{given}'", nearest(given, shop.knowledge.scopes)
                                 or f"known: {', '.join(shop.knowledge.scopes)}"))
    return given


def _date(given: str | None) -> str:
    if given is None:
        return datetime.date.today().isoformat()
    try:
        return datetime.date.fromisoformat(given).isoformat()
    except ValueError:
        raise HowdeepError(f"'{given}' is not a date such as 2026-01-31") from None


def register(app: typer.Typer) -> None:
    """Add the commands to the program."""

    @app.command()
    def quote(
        job: JobFile, scope: RungOption = None, only: OnlyOption = False,
        compare: Annotated[Optional[str], typer.Option("--compare", metavar="RUNG",  # noqa: UP045
                           help="Set another scope beside it.", show_default=False)] = None,
        two_step: Annotated[bool, typer.Option("--two-step", help="Offer tear-down and inspection first.")] = False,
        annex: Annotated[bool, typer.Option("--annex", help="With every line and its reason behind it.")] = False,
        shop_copy: Annotated[bool, typer.Option("--shop-copy", help="The shop's copy: the annex with the evidence "
                                                "behind every line.")] = False,
        letter: Annotated[bool, typer.Option("--letter", help="Only the explanation letter.")] = False,
        order: Annotated[bool, typer.Option("--order", help="Only the order list for parts.")] = False,
        html: HtmlOption = None, force: ForceOption = False,
        promise: Annotated[Optional[str], typer.Option("--promise", metavar="NAME",  # noqa: UP045
                           help="Store this quote in the job as a promise under NAME.", show_default=False)] = None,
        date: Annotated[Optional[str], typer.Option("--date", metavar="DATE",  # noqa: UP045
                        help="Date on the paper (default today).", show_default=False)] = None,
        show: Annotated[Optional[str], typer.Option("--show", metavar="NAME",  # noqa: UP045
                        help="Show a stored promise exactly as made.", show_default=False)] = None,
        since: Annotated[Optional[str], typer.Option("--since", metavar="NAME",  # noqa: UP045
                         help="The change sheet since a promise ('last' for the newest).", show_default=False)] = None,
        approve: Annotated[Optional[str], typer.Option("--approve", metavar="SUM",  # noqa: UP045
                           help="Record the customer's yes up to SUM.", show_default=False)] = None,
        by: Annotated[str, typer.Option("--by", metavar="NAME", help="Who said yes.")] = "",
        how: Annotated[str, typer.Option("--how", metavar="TEXT", help="How: in person, telephone.")] = "",
        json: JsonOption = False,
        rules: RulesOption = None, prices: PricesOption = None, no_colour: PlainOption = False,
    ) -> None:
        """The estimate on one page, for the customer to sign: what was found, what is proposed, its price and what may
        turn up. --annex adds every line with its reason. Promises kept, and what moved since."""
        from .cli_pairs import QUOTE, refuse_idle
        from .quote import promise as promises
        from .quote.build import build_quote
        from .quote.estimate import estimate_of
        from .quote.jobs import asked_for
        from .quote.orders import order_list
        from .session import open_shop
        from .show import quote_text as texts
        from .show.as_json import text_of
        from .show.console import make_console
        from .show.estimate_text import estimate_text
        from .show.general import general_sentence
        from .show.paper_parts import letter_of
        from .show.price_notes import price_notes
        from .show.spoken import spoken

        refuse_idle(QUOTE, {
            "scope": scope, "only": only, "compare": compare, "two-step": two_step, "annex": annex,
            "shop-copy": shop_copy, "letter": letter, "order": order, "html": html, "force": force,
            "promise": promise, "date": date, "show": show, "since": since, "approve": approve, "by": by, "how": how,
            "json": json})
        shop = open_shop(rules, prices, job)
        answer = shop.assess(shop.open_job(job), flips=False)
        say_doubts(answer, shop.knowledge, shop.settings.units)
        console = make_console(colour=not no_colour)
        if approve is not None:
            _approve(job, answer, approve, by, _date(date), how)
            console.print(f"Recorded: yes to {approve} by {by or 'the customer'}.")
            return
        if since is not None:
            price_list = shop.prices
            sheet = promises.change_sheet(shop.knowledge, answer, price_list,
                                          _named(answer, since), promises.found_sentences)
            if html:
                from .show.quote_page import change_page

                _write(html, change_page(sheet, answer, price_list.currency, shop=price_list.shop,
                                         signs=shop.settings.signs, units=shop.settings.units), force)
            elif json:
                typer.echo(text_of({"howdeep_change": 1, **promises.quote_to_plain(sheet)}))
            else:
                for part in with_head(texts.change_text(sheet, price_list.currency, general=general_sentence(answer)),
                                      shop, answer, _date(None)):
                    console.print(part)
            return
        promised = show is not None or promise is not None
        if show is not None:
            kept = promises.stored(answer.job, show)
            made = promises.quote_from_plain(kept["quote"], str(job))
            estimate = promises.estimate_from_plain(kept["estimate"], str(job)) if "estimate" in kept else None
        else:
            key = asked_for(shop.knowledge, answer, _rung(shop, scope), only=only)
            made = build_quote(shop.knowledge, answer, shop.prices, key, two_step=two_step or None)
            estimate = estimate_of(shop.knowledge, answer, made, shop.prices, shop.settings,
                                   asked=scope is not None or only, promised=promised,
                                   date=(date or "") if json else _date(date), units=shop.settings.units)
        if estimate is None:  # a promise of before there were estimates: its sums as they were stored, with their annex
            annex, day = True, str(kept["date"])
            estimate = estimate_of(shop.knowledge, answer, made, shop.prices, shop.settings, promised=True, date=day,
                                   units=shop.settings.units)
        other = build_quote(shop.knowledge, answer, shop.prices, _rung(shop, compare)) if compare else None
        if promise is not None:
            from .job.write import save
            from .quote.held import refuse_promise

            refuse_promise(shop.knowledge, answer, shop.prices, made.job, made.enough)
            if made.total is None:
                raise Held(Fault(str(job), 0, 0, "some lines have no price, so there is no total to promise: "
                                 + ", ".join(line.title for line in made.unpriced),
                                 f"type them: 'howdeep prices fill {job}'"))
            save(job, answer.job.digest, promises.storing(promise, promises.promise_of(shop.knowledge, answer, made,
                                                                                       _date(date), estimate)))
            typer.echo(f"Stored in {job} as promise '{promise}'.", err=True)
        if html:
            from .show.annex import annex_of
            from .show.estimate_page import estimate_page

            behind = annex_of(made, shop.knowledge, answer, estimate, shop_copy=shop_copy, compare=other,
                              date=_date(date), units=shop.settings.units) if annex or shop_copy or other else None
            _write(html, estimate_page(estimate, shop=shop.prices.shop, annex=behind, units=shop.settings.units,
                                      notes=price_notes(made, _date(date))), force)
        elif json:
            told = {"general": general} if (general := general_sentence(answer)) else {}
            typer.echo(text_of({"howdeep_quote": 1, **told, **promises.quote_to_plain(made),
                                "estimate": promises.quote_to_plain(estimate)}))
        else:
            if order:
                parts = texts.order_text(order_list(shop.knowledge, answer, made.job or made.rung),
                                         general=general_sentence(answer))
            elif letter:
                parts = texts.letter_text(letter_of(shop.knowledge, answer, estimate))
            else:
                parts = estimate_text(estimate, shop.prices.shop, price_notes(made, _date(date)))
            day = estimate.date or _date(date)
            for part in (with_head(parts, shop, answer, day, signed=False) if order or letter else
                         spoken(parts, shop.settings.units)):
                console.print(part)
            if annex or shop_copy:
                for part in spoken(texts.quote_text(made, shop_copy=shop_copy, today=day), shop.settings.units):
                    console.print(part)
            if other:
                from .show.annex import work_apart

                for part in spoken(texts.compare_text(made, other, work_apart(made, other)), shop.settings.units):
                    console.print(part)
            if not (letter or order or promised) and sys.stdin.isatty() and sys.stdout.isatty():
                from .cli_prices import offer_fill

                offer_fill(job, made, answer, prices, shop, console, input)

    @app.command()
    def sheet(
        job: JobFile, scope: RungOption = None, only: OnlyOption = False,
        proof: Annotated[bool, typer.Option("--proof", help="Only the proof sheet.")] = False,
        html: HtmlOption = None, force: ForceOption = False,
        json: JsonOption = False,
        rules: RulesOption = None, prices: PricesOption = None, no_colour: PlainOption = False,
    ) -> None:
        """The assembly sheet (figures, order, cautions, blanks)
        and the proof sheet (run-in and the same tests again)."""
        from .cli_pairs import SHEET, refuse_idle
        from .quote.jobs import asked_for
        from .quote.sheets import sheets_of
        from .session import open_shop
        from .show.as_json import plain, text_of
        from .show.console import make_console
        from .show.general import general_sentence
        from .show.sheet_text import assembly_text, proof_text

        refuse_idle(SHEET, {"proof": proof, "html": html, "force": force, "json": json})
        shop = open_shop(rules, prices, job)
        answer = shop.assess(shop.open_job(job), checks=False, flips=False)
        say_doubts(answer, shop.knowledge, shop.settings.units)
        sheets = sheets_of(shop.knowledge, answer, asked_for(shop.knowledge, answer, _rung(shop, scope), only=only),
                           shop.settings.units)
        if html:
            from .show.quote_page import sheets_page

            _write(html, sheets_page(sheets, answer, shop=shop.prices.shop, signs=shop.settings.signs,
                                     units=shop.settings.units), force)
            return
        if json:
            told = {"general": general} if (general := general_sentence(answer)) else {}
            typer.echo(text_of({"howdeep_sheets": 1, **told, **plain(sheets)}))
            return
        console = make_console(colour=not no_colour)
        texts = (*(() if proof else assembly_text(sheets, general=general_sentence(answer))), *proof_text(sheets))
        for part in with_head(texts, shop, answer, _date(None)):
            console.print(part)


def with_head(parts, shop: Shop, answer, date: str, number: str | None = None, *, signed: bool = True):
    """A paper under the shop's letterhead, its number and date, and for whom it is; and where the shop signs."""
    from .show.paper_head import head_of
    from .show.shop_text import signature_lines
    from .show.spoken import spoken

    yield from head_of(answer, shop.prices.shop, number, date)
    yield from spoken(parts, shop.settings.units)
    if signed:
        yield from signature_lines(shop.settings.signs)


def _named(answer, name: str) -> str:
    """A promise's own name where 'last' was asked for."""
    return list(answer.job.job.promises)[-1] if name == "last" and answer.job.job.promises else name


def _approve(job: Path, answer, amount: str, by: str, date: str, how: str) -> None:
    from .job.write import save
    from .quote.promise import approving

    try:
        value = Decimal(amount)
    except InvalidOperation:
        raise HowdeepError(f"'{amount}' is not a sum such as 1250.00") from None
    if not value.is_finite() or not 0 < value <= 10_000_000:
        raise HowdeepError(f"'{amount}' is not a sum such as 1250.00")
    save(job, answer.job.digest, approving(value.quantize(Decimal("0.01")), by or "the customer", date, how))


def _write(path: Path, page: str, force: bool) -> None:
    from .files.whole import write_whole

    write_whole(path, page.encode(), force=force)
    typer.echo(f"Written: {path}", err=True)
