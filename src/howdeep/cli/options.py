"""Options that several commands share, said in the same words everywhere."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ..model.shown_units import in_prose

if TYPE_CHECKING:  # neither is needed to say what the options are, and a start is short
    from ..model.knowledge import Knowledge
    from ..model.results import Assessment

RulesOption = Annotated[
    Path | None,
    typer.Option(
        "--rules",
        metavar="FOLDER",
        help="The shop's own rules, laid over the shipped ones (or set HOWDEEP_RULES).",
        show_default=False,
    ),
]
PricesOption = Annotated[
    Path | None,
    typer.Option(
        "--prices",
        metavar="FILE",
        help="The shop's price list (else HOWDEEP_PRICES, prices.yaml beside the job, or the invented example list).",
        show_default=False,
    ),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON in the documented shape instead of text.")]
PlainOption = Annotated[bool, typer.Option("--no-colour", help="No colour (also NO_COLOR=1).")]


def knowledge_of(rules: Path | None) -> Knowledge:
    """The rule base, the shop's own laid over it. Raises HowdeepError with every fault."""
    from ..knowledge.cache import load_cached
    from ..knowledge.where import rule_folders

    return load_cached(rule_folders(rules))


def say_doubts(answer: Assessment, knowledge: Knowledge | None = None, units: str = "") -> None:
    """What must not be overlooked before an answer or a paper rests on it, on the error output: what is questioned in
    the engine sheet, the prices and the shop's rules, and fits measured tighter than new; for a paper (with
    `knowledge`), which does not say so itself, also answers that contradict each other and readings that are left
    out."""
    for question in (*answer.job.sheet_questions, *answer.doubts):
        typer.echo(f"howdeep: questioned: {question}", err=True)
    for remark in answer.facts.remarks:
        if remark.kind == "too tight":
            typer.echo(f"howdeep: too tight: {remark.observation}: {in_prose(remark.text, units)}", err=True)
    if knowledge is not None:
        from ..show.doubts import overlooked

        for text in overlooked(knowledge, answer, sheet=False):
            typer.echo(f"howdeep: {in_prose(text, units)}", err=True)
