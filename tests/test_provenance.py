"""Every answer names what it was made with, on each surface from one value."""

import dataclasses
import sys

import pytest

from howdeep.assessment.session import open_shop
from howdeep.model.used import LaidOver, Used
from howdeep.show.as_json import assessment_shape
from howdeep.show.used_text import used_line, used_shape, used_small_print

from .pages import CASE
from .places import ROOT

sys.path.insert(0, str(ROOT / "bench"))
from overlay_mistakes import as_text, shipped_entry

USED = Used(
    "1+abc",
    LaidOver("own", 2, 1, 3),
    "pell-2",
    True,
    4,
    1,
    "A list",
    "prices.yaml",
    "2026-03-01",
    False,
    2,
    ("prices.yaml:4:1: odd",),
    ("leakage",),
)


@pytest.fixture(scope="module")
def own(tmp_path_factory):
    """A folder of own rules: one finding with a word changed, one limit as it was, one caution of its own."""
    folder = tmp_path_factory.mktemp("own")
    finding = shipped_entry("findings/air_cleaner_blocked")
    finding["explained_by"] = {**finding["explained_by"], "dirty_air_cleaner": "usually"}
    (folder / "findings.yaml").write_text(as_text({"air_cleaner_blocked": finding}), encoding="utf-8")
    (folder / "limits.yaml").write_text(as_text({"crank_bend": shipped_entry("limits/crank_bend")}), encoding="utf-8")
    (folder / "cautions.yaml").write_text(
        "shop_door: {title: The door slams, text: Prop it., source: [{standing: judgement}]}\n", encoding="utf-8"
    )
    return folder


def test_the_shops_own_rules_are_counted(own):
    over = open_shop(own, example_prices=True).over
    assert over == LaidOver(str(own), 2, 1, 1)
    assert open_shop(example_prices=True).over is None


def test_an_answer_says_what_it_was_made_with_in_json(own):
    shop = open_shop(own, example_prices=True)
    shape = assessment_shape(shop.knowledge, shop.assess(shop.open_job(CASE), checks=False, flips=False))
    used = shape["used"]
    assert used["howdeep_used"] == 1 and used["laid_over"] == {
        "folder": str(own),
        "replaced": 2,
        "added": 1,
        "corrections": 1,
    }
    assert used["engine"]["id"] == "brockwell-4" and used["prices"]["example"] and used["left_out"] == []
    assert used["rule_base"] == shape["rule_base"] == shop.knowledge.version


def test_the_screen_says_it_where_there_is_room(shop, assessed):
    from howdeep.show.answer_text import LINES, answer_lines

    short, long = (
        answer_lines(shop.knowledge, assessed[name], shop.prices)
        for name in ("a_healthy_engine_wants_nothing", CASE.stem)
    )
    assert any("Used: rules 1+" in line for line in short) and not any("Used:" in line for line in long)
    assert len(short) < LINES == len(long)  # and elsewhere it gives way to what the answer says


def test_line_small_print_and_json_tell_the_same():
    line, small, shape = used_line(USED), " ".join(used_small_print(USED)), used_shape(USED)
    for text in (line, small):
        assert "1+abc" in text and "pell-2" in text and "2026-03-01" in text
    assert "2 replaced, 1 added" in line and "4 general" in line and "1 questioned" in line and "1 left out" in line
    assert "replace 2 and add 1" in small and "3 frequency words" in small and "leakage" in small
    assert shape["questioned"] == list(USED.questioned) and shape["prices"]["missing"] == 2
    bare = dataclasses.replace(USED, laid_over=None, prices="", questioned=(), left_out=(), general=0, assumed=0)
    assert used_line(bare) == "Used: rules 1+abc; sheet pell-2." and used_shape(bare)["prices"] is None


def test_what_stood_in_and_what_did_not_count_is_named_by_its_title(shop, tmp_path):
    path = tmp_path / "job.yaml"
    path.write_text(
        "howdeep_job: 1\nengine: farm-diesel-four\nanswers: {complaint: hard_start, runs: yes}\n"
        "readings: {compression_dry: {1: 390 psi, 2: 385 psi, 3: 370 psi, 4: 390 psi}, test_throttle_open: yes}\n"
    )
    answer = shop.assess(shop.open_job(path), checks=False, flips=False)
    text = " ".join((*answer.stand_ins, *used_small_print(shop.assess(shop.open_job(path)).used)))
    for name in (*shop.knowledge.reduced, *shop.knowledge.observations):
        assert not ("_" in name and name in text), name
    assert "Throttle and choke open for the test" in text
