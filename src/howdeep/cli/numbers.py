"""A number for a paper that is printed, said on the error output where it is new."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Literal

import typer

from ..assessment.session import Shop
from ..model.job import OpenJob


def number_for(
    shop: Shop, path: Path, job: OpenJob, kind: Literal["estimate", "change sheet"], content: str, total: Decimal | None
) -> tuple[str, str]:
    """(number, digest of the job file after it), as `give_number` says; empty where the shop numbers nothing."""
    from ..quote.numbered import give_number, number_of
    from ..shop.read import find_shop

    settings = find_shop(path.parent)
    if settings is None or shop.settings.next_number is None:
        return number_of(job.job, content), job.digest
    number, digest = give_number(settings, shop.knowledge, path, job, kind, content, total)
    if digest != job.digest:
        typer.echo(f"Number {number}, entered in {path}.", err=True)
    return number, digest
