"""The record as a table for other programs, and as one that carries no person."""

from __future__ import annotations

import csv
import hashlib
import io
import secrets
from collections.abc import Sequence

from .row import Row

COLUMNS = (
    "job",
    "closed",
    "engine",
    "recommended",
    "promised",
    "scope_done",
    "came_back",
    "held",
    "hours",
    "cost",
    "promised_cost",
    "promised_high",
    "bill",
    "stated_enough",
    "rule_base",
    "from_promise",
    "causes_present",
    "causes_absent",
)


def table(rows: Sequence[Row]) -> list[dict[str, str]]:
    """One dict of text a job, in order of name."""
    return [_record(row, row.name, row.date) for row in sorted(rows, key=lambda row: row.name)]


def anonymous_table(rows: Sequence[Row], salt: str | None = None) -> list[dict[str, str]]:
    """The same without file names, days and free text, in an order that tells nothing.

    Job names become a keyed hash; without a `salt` kept by the shop nobody can link two exports.
    """
    key = (salt or secrets.token_hex(16)).encode()
    records = []
    for row in rows:
        name = hashlib.blake2b(row.name.encode(), key=hashlib.sha256(key).digest(), digest_size=8).hexdigest()
        records.append(_record(row, name, row.date[:4]))
    return sorted(records, key=lambda record: record["job"])


def _record(row: Row, name: str, closed: str) -> dict[str, str]:
    held = row.held
    own_sheet = "/" in row.engine or "." in row.engine  # named by its path, which may carry a name
    return {
        "job": name,
        "closed": closed,
        "engine": "own" if own_sheet else row.engine,
        "recommended": row.rung,
        "promised": row.promised_rung,
        "scope_done": row.scope_done or "",
        "came_back": row.came_back,
        "held": "" if held is None else "yes" if held else "no",
        "hours": _number(row.hours),
        "cost": _number(row.cost),
        "promised_cost": _number(row.promised_cost),
        "promised_high": _number(row.promised_high),
        "bill": row.money,
        "stated_enough": f"{row.enough.get(row.promised_rung, 0):.4f}",
        "rule_base": row.rule_base,
        "from_promise": "yes" if row.from_promise else "no",
        "causes_present": " ".join(
            f"{cause}:{row.odds.get(cause, 0):.4f}" for cause, truth in row.truths.items() if truth
        ),
        "causes_absent": " ".join(
            f"{cause}:{row.odds.get(cause, 0):.4f}" for cause, truth in row.truths.items() if not truth
        ),
    }


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:.2f}"


def csv_text(records: Sequence[dict[str, str]]) -> str:
    """CSV (RFC 4180). A value that a spreadsheet would run as a formula gets an apostrophe before it."""
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, COLUMNS)
    writer.writeheader()
    for record in records:
        writer.writerow(
            {key: f"'{value}" if value[:1] in "=+-@\t\r" and value else value for key, value in record.items()}
        )
    return out.getvalue()
