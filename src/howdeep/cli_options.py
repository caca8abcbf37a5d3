"""Options that several commands share, said in the same words everywhere."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

RulesOption = Annotated[Optional[Path], typer.Option(  # noqa: UP045 - typer reads the annotation at run time
    "--rules", metavar="FOLDER", help="The shop's own rules, laid over the shipped ones (or set HOWDEEP_RULES).",
    show_default=False)]
PricesOption = Annotated[Optional[Path], typer.Option(  # noqa: UP045
    "--prices", metavar="FILE", help="The shop's price list (else HOWDEEP_PRICES, prices.yaml beside the job, or the "
    "invented example list).", show_default=False)]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON in the documented shape instead of text.")]
PlainOption = Annotated[bool, typer.Option("--no-colour", help="No colour (also NO_COLOR=1).")]
