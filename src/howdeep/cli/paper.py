"""What the commands of the papers share: their options, the shop's head, and where a paper goes."""

from __future__ import annotations

import datetime
import functools
import inspect
from collections.abc import Callable, Iterable, Iterator
from dataclasses import fields
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from typer.core import TyperGroup

from ..clock import date_today
from ..errors import Fault, HowdeepError, listed, nearest
from ..model.frozen import dataclass
from .options import JsonOption, PlainOption, PricesOption, RulesOption, say_doubts

if TYPE_CHECKING:
    from rich.console import RenderableType

    from ..assessment.session import Shop
    from ..model.results import Assessment
    from ..model.terms import Rung

JobFile = Annotated[Path, typer.Argument(metavar="JOB", help="The job file.", show_default=False)]
HtmlOption = Annotated[
    Path | None,
    typer.Option("--html", metavar="FILE", help="Write one self-contained page for printing.", show_default=False),
]
PdfOption = Annotated[
    Path | None,
    typer.Option(
        "--pdf",
        metavar="FILE",
        help="Write it as PDF, printed by a browser of the Chromium family.",
        show_default=False,
    ),
]
ForceOption = Annotated[bool, typer.Option("--force", help="Replace FILE if it is there.")]
RungOption = Annotated[
    str | None,
    typer.Option(
        "--scope", metavar="RUNG", help="Another scope than the recommended one, the whole of it.", show_default=False
    ),
]
OnlyOption = Annotated[bool, typer.Option("--only", help="Only what cures what was noticed, at that depth.")]
TwoStepOption = Annotated[bool, typer.Option("--two-step", help="Offer tear-down and inspection first.")]
DateOption = Annotated[
    str | None, typer.Option("--date", metavar="DATE", help="Date on the paper (default today).", show_default=False)
]
PromiseOption = Annotated[
    str | None,
    typer.Option(
        "--promise",
        metavar="NAME",
        help="Of a promise made, instead of today's answer ('last' for the newest).",
        show_default=False,
    ),
]


@dataclass(frozen=True, slots=True)
class PaperOptions:
    """What every paper is given by: where it goes, and by whose rules and prices it is worked out."""

    html: HtmlOption = None
    pdf: PdfOption = None
    force: ForceOption = False
    json: JsonOption = False
    rules: RulesOption = None
    prices: PricesOption = None
    no_colour: PlainOption = False

    @property
    def printed(self) -> bool:
        """Whether it is written as a page or as PDF."""
        return bool(self.html or self.pdf)

    def forms(self) -> dict[str, object]:
        """Option -> value of those that say in which form it is given."""
        return {"html": self.html, "pdf": self.pdf, "force": self.force, "json": self.json}

    def answered(self, job: Path, *, checks: bool = True) -> tuple[Shop, Assessment]:
        """The shop and the answer of a job, what must not be overlooked said on the error output."""
        return answered(job, self.rules, self.prices, checks=checks)

    def write(self, shop: Shop, page: str) -> None:
        """Write a page, as it is or printed. Raises HowdeepError where a file is there or no browser prints."""
        write_paper(shop, page, self.html, self.pdf, force=self.force)

    def say(self, parts: Iterable[RenderableType]) -> None:
        """Print it in the terminal."""
        say(parts, no_colour=self.no_colour)


def paper_command(command: Callable[..., None]) -> Callable[..., None]:
    """A command with the options of every paper behind its own; it is handed them as `given`."""
    own = inspect.signature(command, eval_str=True)
    kinds = inspect.get_annotations(PaperOptions, eval_str=True)
    shared = [
        inspect.Parameter(
            option.name, inspect.Parameter.KEYWORD_ONLY, default=option.default, annotation=kinds[option.name]
        )
        for option in fields(PaperOptions)
    ]

    @functools.wraps(command)
    def run(**options: Any) -> None:
        given = PaperOptions(**{option.name: options.pop(option.name) for option in shared})
        command(**options, given=given)

    run.__annotations__ = {**command.__annotations__, **kinds}
    run.__signature__ = own.replace(  # type: ignore[attr-defined]  # a function may carry one
        parameters=[*(item for name, item in own.parameters.items() if name != "given"), *shared]
    )
    return run


class Papers(TyperGroup):
    """A group that names its papers where a job stands in place of one, as it did before there were several."""

    def resolve_command(self, context: Any, args: list[str]) -> Any:
        """The command that was named. Raises HowdeepError with the nearest, or with all."""
        name, known = args[0] if args else "", list(self.commands)
        if name not in known and not name.startswith("-"):
            told = f"howdeep {self.name}"
            job = Path(name).suffix in (".yaml", ".yml") or Path(name).exists()
            raise HowdeepError(
                Fault(
                    "",
                    0,
                    0,
                    f"'{told}' wants to know what: {listed(known)}" if job else f"there is no '{told} {name}'",
                    f"'{told} {known[0]} {name}'" if job else nearest(name, known) or f"known: {listed(known)}",
                )
            )
        return super().resolve_command(context, args)


def gone(option: str, instead: str) -> Any:
    """A hidden option that was, and says what replaced it, for the annotation of a parameter."""

    def say(value: Any) -> Any:
        if value not in (None, False):
            raise HowdeepError(Fault("", 0, 0, f"{option} is gone", f"it is now '{instead}'"))
        return value

    return typer.Option(option, hidden=True, callback=say)


def rung_of(shop: Shop, given: str | None) -> Rung | None:
    """A scope that was named. Raises HowdeepError with the nearest one."""
    if given is None:
        return None
    from ..model.terms import RUNGS

    if given not in RUNGS or given not in shop.knowledge.scopes:
        raise HowdeepError(
            Fault(
                "",
                0,
                0,
                f"there is no scope '{given}'",
                nearest(given, shop.knowledge.scopes) or f"known: {', '.join(shop.knowledge.scopes)}",
            )
        )
    return given


def date_of(given: str | None) -> str:
    """A date that was typed, else today's. Raises HowdeepError for what is none."""
    if given is None:
        return date_today()
    try:
        return datetime.date.fromisoformat(given).isoformat()
    except ValueError:
        raise HowdeepError(f"'{given}' is not a date such as 2026-01-31") from None


def answered(job: Path, rules: Path | None, prices: Path | None, *, checks: bool = True) -> tuple[Shop, Assessment]:
    """The shop and the answer of a job, what must not be overlooked said on the error output."""
    from ..assessment.session import open_shop

    shop = open_shop(rules, prices, job)
    answer = shop.assess(shop.open_job(job), checks=checks, flips=False)
    say_doubts(answer, shop.knowledge, shop.settings.units)
    return shop, answer


def with_head(
    parts: Iterable[RenderableType],
    shop: Shop,
    answer: Assessment,
    date: str,
    number: str | None = None,
    *,
    signed: bool = True,
) -> Iterator[RenderableType]:
    """A paper under the shop's letterhead, its number and date, and for whom it is; and where the shop signs."""
    from ..show.paper_head import head_of
    from ..show.shop_text import signature_lines
    from ..show.spoken import spoken

    yield from head_of(answer, shop.prices.shop, number, date)
    yield from spoken(parts, shop.settings.units)
    if signed:
        yield from signature_lines(shop.settings.signs)


def say(parts: Iterable[RenderableType], *, no_colour: bool) -> None:
    """Print a paper in the terminal."""
    from ..show.console import make_console

    console = make_console(colour=not no_colour)
    for part in parts:
        console.print(part)


def write_paper(shop: Shop, page: str, html: Path | None, pdf: Path | None, *, force: bool) -> None:
    """Write a page as it is, as printed (on A4 for a shop that speaks metric, else on Letter), or both. Raises
    HowdeepError where a file is there or no browser prints."""
    if pdf is not None:
        from ..files.print_pdf import pdf_of

        write_file(pdf, b"", force=force, dry=True)
        write_file(pdf, pdf_of(page, "A4" if shop.settings.units == "metric" else "Letter"), force=force)
    if html is not None:
        write_file(html, page.encode(), force=force)


def write_file(path: Path, data: bytes, *, force: bool, dry: bool = False) -> None:
    """Write one file whole and say so; `dry` only asks whether it may be written."""
    from ..files.whole import write_whole

    if dry:
        if path.exists() and not force:
            raise HowdeepError(Fault(str(path), 0, 0, "exists already", "use --force to replace it"))
        return
    write_whole(path, data, force=force)
    typer.echo(f"Written: {path}", err=True)
