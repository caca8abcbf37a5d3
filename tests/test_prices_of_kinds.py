"""Parts of an engine without a sheet have prices of their own: under the kind that it is taken as."""

import shutil
from decimal import Decimal

import pytest
from typer.testing import CliRunner

from howdeep.assessment.session import open_shop
from howdeep.cli.main import app
from howdeep.pricing.read import example_prices, load_prices
from howdeep.pricing.write import Figure, put_figures
from howdeep.quote.build import build_quote

from .pages import CASE

KIND = "side-valve-petrol-four"


@pytest.fixture
def folder(tmp_path):
    shutil.copy(example_prices(), tmp_path / "prices.yaml")
    return tmp_path


def quoted(folder, engine):
    """(unit price of the ring set, total, expected cost of the refresh) of the case on an engine."""
    (folder / "job.yaml").write_text(CASE.read_text().replace("engine: brockwell-4", f"engine: {engine}"))
    made = open_shop(None, None, folder / "job.yaml")
    answer = made.assess(made.open_job(folder / "job.yaml"), checks=False, flips=False)
    quote = build_quote(made.knowledge, answer, made.prices, "refresh")
    line = next(line for line in quote.lines if line.subject == "ring_set")
    return line, quote.total, answer.decision.line("refresh").price


@pytest.mark.parametrize("engine", [KIND, "unknown", "{fuel: petrol, layout: side_valve, cylinders: 4, year: 1930s}"])
def test_a_price_under_its_kind_is_taken_for_an_engine_without_a_sheet(folder, shop, engine):
    before = quoted(folder, engine)
    made = open_shop(None, None, folder / "job.yaml")
    kind = made.open_job(folder / "job.yaml").priced_as
    put_figures(
        folder / "prices.yaml", shop.knowledge, {f"engine_parts.{kind}.ring_set": Figure("91.50", "2026-05-01")}
    )
    line, total, price = quoted(folder, engine)
    assert line.unit_price == Decimal("91.50") and line.place == f"engine_parts.{kind}.ring_set"
    assert before[0].place == "parts.ring_set" and total > before[1] and price > before[2]
    assert not line.example


def test_a_sheet_does_not_take_the_prices_of_a_kind(folder, shop):
    before = quoted(folder, "brockwell-4")
    put_figures(
        folder / "prices.yaml", shop.knowledge, {f"engine_parts.{KIND}.ring_set": Figure("91.50", "2026-05-01")}
    )
    assert quoted(folder, "brockwell-4")[1:] == before[1:]


def test_the_commands_take_kinds_and_name_what_is_neither(folder, shop, monkeypatch):
    monkeypatch.chdir(folder)
    (folder / "list.csv").write_text("part,price\nring set,44.10\n")
    done = CliRunner().invoke(
        app, ["prices", "import", "list.csv", "--into", "prices.yaml", "--engine", KIND, "--accept-near"]
    )
    assert done.exit_code == 0, done.output
    assert load_prices(folder / "prices.yaml", shop.knowledge).engine_parts[KIND] == {"ring_set": "44.10"}
    assert "No engine sheet" not in CliRunner().invoke(app, ["prices", "show", "prices.yaml"]).output
    put_figures(
        folder / "prices.yaml", shop.knowledge, {"engine_parts.brockwel-4.ring_set": Figure("9.00", "2026-05-01")}
    )
    told = " ".join(CliRunner().invoke(app, ["prices", "show", "prices.yaml"]).output.split())
    assert "No engine sheet or kind 'brockwel-4' is here" in told and "brockwell-4" in told
