"""Figures of a price list are held to what they can be; a word in the list settles a question; one round tells all."""

import json
import random
import sys

import pytest
from typer.testing import CliRunner

from howdeep.cli.main import app
from howdeep.knowledge.plausible import plausible_table
from howdeep.model.prices import PriceList
from howdeep.pricing.check import check_prices
from howdeep.pricing.read import example_prices, load_prices

from .places import ROOT

sys.path.insert(0, str(ROOT / "bench"))
from price_slips import found, right_list, slips

HEAD = 'name: A made-up shop\ndate: "2026-03-01"\ncurrency: USD\nlabour_rate: "82"\ncomeback_charge: "450.00"\n'
PARTS = 'parts: {piston: "80", ring_set: "34", head_gasket: "50", coil: "60", battery: "150", oil_pump: "170"}\n'


def listed(tmp_path, text):
    path = tmp_path / "prices.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def test_single_slips_are_seen_and_right_lists_are_let_be():
    """A sample of what `python -m bench.price_slips` counts whole."""
    unseen = [(kind, figure) for kind, figure, plain in slips(100, 7) if not found(plain)]
    assert len(unseen) <= 5, unseen
    chance = random.Random(8)
    assert [told for _ in range(20) if (told := found(right_list(chance)))] == []


def test_the_example_list_itself_is_sound(shipped):
    checked = check_prices(example_prices(), shipped, "2026-11-29")
    assert checked.clean and checked.questions == () and checked.missing == ()


def test_every_row_of_the_table_speaks_of_figures_that_a_list_has():
    named = set(PriceList.__dataclass_fields__) | {"example", "general"}
    for key, row in plausible_table((), "prices").items():
        paths = [*row.figures, *(path for path in (row.over, row.below, row.not_above) if path)]
        assert all(path.split(".")[0] in named for path in paths), key
        assert row.because and row.source and row.title, key


@pytest.mark.parametrize(
    ("changed", "figure", "slip"),
    [
        ('labour_rate: "820"', "labour_rate", "decimal point"),
        (
            'parts: {piston: "800", ring_set: "34", head_gasket: "50", coil: "60", battery: "150", oil_pump: "170"}',
            "parts.piston",
            "decimal point",
        ),
        ('tax_percent: "0.07"', "tax_percent", "two places"),
        ("promise_floor: 0.3", "promise_floor", "no promise"),
        ("hours: {re_ring: 90}", "hours.re_ring", "two places"),
        ('look_inside: {top_end: "640", refresh: "340"}', "look_inside.top_end", "more than"),
    ],
)
def test_a_slip_is_questioned_at_its_line_and_settled_by_a_word(tmp_path, shipped, changed, figure, slip):
    key = changed.split(":")[0]
    lines = [line for line in (HEAD + PARTS).splitlines() if not line.startswith(f"{key}:")] + [changed]
    path = listed(tmp_path, "\n".join(lines) + "\n")
    checked = check_prices(path, shipped, "2026-11-29")
    assert checked.clean and len(checked.questions) == 1, checked
    (question,) = checked.questions
    assert question.line == len(lines) and question.message.startswith(figure) and slip in question.hint
    assert load_prices(path, shipped).questions == (str(question),)
    sure = listed(tmp_path, "\n".join(lines) + f"\nsure: {{{figure}: it is so here}}\n")
    assert check_prices(sure, shipped, "2026-11-29").questions == ()


def test_a_list_in_another_currency_is_held_to_its_own_level(tmp_path, shipped):
    """Prices of some hundred times the example's are no slip where all are so."""
    yen = HEAD.replace("USD", "JPY").replace('"82"', '"8200"').replace('"450.00"', '"50000"')
    parts = 'parts: {piston: "9000", ring_set: "3600", head_gasket: "5200", coil: "6100", battery: "15000"%s}\n'
    assert check_prices(listed(tmp_path, yen + parts % ""), shipped, "2026-11-29").questions == ()
    slip = check_prices(listed(tmp_path, yen + parts % ', oil_pump: "170"'), shipped, "2026-11-29").questions
    assert [item.message.split()[0] for item in slip] == ["parts.oil_pump"]


def test_all_of_it_is_told_in_one_round(tmp_path):
    path = listed(
        tmp_path,
        HEAD.replace("2026", "2062").replace('"82"', '"820"')
        + 'parts: {pistn: "80", coil: "EUR 6", battery: -5}\nsure: {parts.wheel: round}\n',
    )
    told = CliRunner().invoke(app, ["prices", "check", str(path), "--json"])
    assert told.exit_code == 1
    shape = json.loads(told.output)
    assert shape["howdeep_price_check"] == 1 and not shape["clean"]
    said = " ".join(item["message"] for item in shape["faults"])
    assert all(word in said for word in ("pistn", "EUR", "-5", "parts.wheel"))
    assert {item["line"] for item in shape["questions"]} == {2, 4} and len(shape["missing"]) > 100
    lines = CliRunner().invoke(app, ["prices", "check", str(path)]).output.splitlines()
    assert max(map(len, lines)) <= max(80, len(str(path)) + 20) and len(lines) < 40


def test_what_is_questioned_is_said_where_an_answer_rests_on_it(tmp_path):
    from .pages import CASE

    listed(tmp_path, HEAD.replace('"82"', '"820"') + PARTS)
    job = tmp_path / "job.yaml"
    job.write_text(CASE.read_text(encoding="utf-8"), encoding="utf-8")
    told = CliRunner().invoke(app, ["assess", str(job), "--no-colour"])
    assert told.exit_code == 0
    assert "questioned: " in told.stderr and "prices.yaml:4:" in told.stderr and "labour_rate 820" in told.stderr
