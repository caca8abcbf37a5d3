"""What a proposed overlay would do: on jobs held back from the learning, and on every worked case."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from ..assessment.quick import odds_of, without_teardown
from ..cases.run import run_folder
from ..job.read import read_job
from ..knowledge.engines import Sheet
from ..knowledge.load import load
from ..knowledge.where import shipped_cases
from .rerun import path_of
from .row import Row
from .score import brier, log_score

if TYPE_CHECKING:
    from ..assessment.session import Shop
    from ..model.knowledge import Knowledge

MOST_HELD_BACK = 400


def held_back(rows: Sequence[Row]) -> tuple[list[Row], list[Row]]:
    """(to learn from, held back): one job in three is held back, by a hash of its name, so that it stays the same."""
    taught: list[Row] = []
    kept: list[Row] = []
    for row in sorted(rows, key=lambda row: row.name):
        third = hashlib.sha256(row.name.encode()).digest()[0] % 3 == 0
        (kept if third else taught).append(row)
    return taught, kept


def pairs_under(knowledge: Knowledge, shop: Shop, folder: Path, rows: Sequence[Row]) -> list[tuple[float, bool]]:
    """(stated chance, what was found) of every cause looked at, by one rule base, without the teardown."""
    pairs = []
    engines: dict[Path, Sheet] = {}
    for row in rows:
        job = without_teardown(knowledge, read_job(path_of(folder, row), knowledge, shop.folders, engines=engines))
        odds = odds_of(knowledge, job)
        pairs += [(odds[cause], truth) for cause, truth in row.truths.items() if cause in odds]
    return pairs


def report(shop: Shop, folder: Path, kept: Sequence[Row], overlay: Path) -> Iterator[str]:
    """Before and after, on held-back jobs and on the cases, a line each."""
    import dataclasses

    after = load((*shop.folders, overlay))
    rows = list(kept)[:MOST_HELD_BACK]
    if rows:
        before_pairs = pairs_under(shop.knowledge, shop, folder, rows)
        after_pairs = pairs_under(after, shop, folder, rows)
        if before_pairs:
            yield (
                f"Held-back jobs ({len(rows)}): log score {log_score(before_pairs):.4f} -> "
                f"{log_score(after_pairs):.4f}, Brier {brier(before_pairs):.4f} -> {brier(after_pairs):.4f} "
                "(lower is better)"
            )
    old = {result.name: result for result in run_folder(shop, shipped_cases())}
    new = run_folder(dataclasses.replace(shop, knowledge=after, folders=(*shop.folders, overlay)), shipped_cases())
    broken = [result for result in new if result.failures and not old[result.name].failures]
    yield f"Worked cases: {len(new)} run, {len(broken)} that held would fail"
    for result in broken:
        yield f"  {result.name}: {result.failures[0]}"
