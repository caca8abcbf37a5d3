"""The record of a folder on the page: how good the advice was, with its picture."""

from __future__ import annotations

import io
from pathlib import Path

from flask import Flask, Response, render_template, request

from ..assessment.session import Shop
from ..model.frozen import dataclass
from ..record.read import read_folder
from ..record.score import Scores, record_of
from ..show.record_text import record_text
from ..show.words import percent

SIDE, MARGIN = 300, 40
"""Side of the picture of the odds, and the room beside it for its figures."""
WIDTH = 72
"""Columns of the record's text."""


@dataclass(frozen=True, slots=True)
class Point:
    """One stated chance: where it stands, its interval, and of how many."""

    x: float
    y: float
    low: float
    high: float
    count: int


@dataclass(frozen=True, slots=True)
class Calibration:
    """Stated chances against what came true, ready to be drawn."""

    title: str
    points: tuple[Point, ...]
    described: str


def calibration(scores: Scores, title: str) -> Calibration:
    """The picture of stated chances, 0 at the lower left, 1 at the upper right."""

    def up(share: float) -> float:
        return round(SIDE * (1 - share), 1)

    return Calibration(
        title,
        tuple(
            Point(round(SIDE * item.said, 1), up(item.true), up(item.true_low), up(item.true_high), item.count)
            for item in scores.bins
        ),
        "; ".join(f"said {percent(item.said)}, came true {percent(item.true)} of {item.count}" for item in scores.bins),
    )


def add_record(app: Flask, folder: Path, shop: Shop) -> None:
    """Add the routes to the application."""

    @app.get("/record")
    def record():
        from rich.console import Console

        read = read_folder(folder, shop.folders, shop.prices)
        scored = record_of(read.rows)
        out = io.StringIO()
        console = Console(file=out, width=WIDTH, no_color=True, highlight=False, markup=False, emoji=False)
        for part in record_text(shop.knowledge, read, scored):
            console.print(part)
        pictures = [
            calibration(scores, title)
            for scores, title in (
                (scored.causes, "Odds of causes: said, and came true"),
                (scored.enough, "Enough: said, and came true"),
            )
            if scores
        ]
        return render_template(
            "record.html", text=out.getvalue(), pictures=pictures, side=SIDE, margin=MARGIN, closed=len(read.rows)
        )

    @app.get("/record.csv")
    def record_table():
        from ..record import export

        rows = read_folder(folder, shop.folders, shop.prices).rows
        nameless = "anonymous" in request.args
        table = export.anonymous_table(rows) if nameless else export.table(rows)
        response = Response(export.csv_text(table), mimetype="text/csv")
        name = "record-without-names.csv" if nameless else "record.csv"
        response.headers["Content-Disposition"] = f"attachment; filename={name}"
        return response


__all__ = ["Calibration", "Point", "add_record", "calibration"]
