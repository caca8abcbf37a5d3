"""The figures kept beside the cases: what moves is told, what is the same is not, and a damaged file is refused."""

import copy
import json
import re
import shutil

import pytest
from typer.testing import CliRunner

from howdeep.cases.figures import MOST_SAID, figures_of, moved, read_figures, said, write_figures
from howdeep.cases.run import case_files, keep_figures, run_folder, run_one
from howdeep.cli.main import app
from howdeep.errors import HowdeepError
from howdeep.knowledge.where import shipped_cases

NAME = "smoke_and_low_compression_with_dry_seals_stays_in_the_frame"


@pytest.fixture(scope="module")
def figures(shop):
    return figures_of(shop.assess(shop.open_job(shipped_cases() / f"{NAME}.yaml"), checks=False, flips=False))


def test_figures_are_kept_of_every_shipped_case():
    kept = read_figures(shipped_cases())
    assert sorted(kept) == [path.stem for path in case_files(shipped_cases())]


def test_figures_hold_what_was_concluded(shop, figures):
    assert figures["scope"] == "refresh"
    assert {"wet_test_brings_it_up"} <= set(figures["present"])
    assert not set(figures["present"]) & set(figures["absent"])
    assert 80 < figures["enough"]["replace"] == max(figures["enough"].values()) < 100  # an unlisted fault may be left
    assert all(0.1 <= percent <= 100 for percent in figures["odds"].values())
    assert json.loads(json.dumps(figures)) == figures
    assert list(moved(figures, copy.deepcopy(figures))) == []


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda f: f.update(scope="rebuild"), "scope refresh -> rebuild"),
        (lambda f: f["odds"].update(worn_rings=f["odds"]["worn_rings"] * 0.98), "odds worn_rings"),
        (lambda f: f["odds"].pop("worn_rings"), "odds worn_rings"),
        (lambda f: f["enough"].update(outside=50.0), "enough outside"),
        (lambda f: f["price"].update(top_end="1.00"), "price top_end"),
        (lambda f: f["work"].append("polish_the_brass"), "work with polish_the_brass"),
        (lambda f: f["work"].remove("re_ring"), "work without re_ring"),
        (lambda f: f["contradictions"].append("stuck_yet_fires"), "contradictions with stuck_yet_fires"),
        (lambda f: f["holds"].update(a_hold="stands above outside"), "holds a_hold none -> stands above outside"),
        (lambda f: f["absent"].append(f["present"].pop(0)), "present -> absent"),
        (lambda f: f["present"].pop(0), "present -> not known"),
    ],
)
def test_every_kind_of_figure_is_told_when_it_moves(figures, change, told):
    now = copy.deepcopy(figures)
    change(now)
    moves = list(moved(figures, now))
    assert len(moves) == 1 and told in moves[0]


def test_the_last_digit_may_differ(figures):
    now = copy.deepcopy(figures)
    now["odds"]["worn_rings"] *= 1.004
    assert list(moved(figures, now)) == []


def test_a_long_list_is_cut_short_and_says_so():
    assert said([f"odds c{number}" for number in range(MOST_SAID + 3)]).endswith("; and 3 more")


def test_a_case_without_figures_and_figures_without_a_case_are_told(shop, tmp_path, figures):
    shutil.copy(shipped_cases() / f"{NAME}.yaml", tmp_path)
    assert [result.holds for result in run_folder(shop, tmp_path)] == [True], "no figures are kept: none are asked for"
    write_figures(tmp_path, {"a_case_that_is_gone": figures})
    told = {result.name: result.moved for result in run_folder(shop, tmp_path)}
    assert "no figures are kept of it" in told[NAME]
    assert "a case that is gone" in told["a_case_that_is_gone"]
    keep_figures(shop, tmp_path)
    assert [result.holds for result in run_folder(shop, tmp_path)] == [True]
    kept = read_figures(tmp_path)
    kept[NAME]["odds"]["worn_rings"] = 1.0
    write_figures(tmp_path, kept)
    (result,) = run_folder(shop, tmp_path)
    assert result.failures == () and result.moved.startswith("figures moved: odds worn_rings 1 % -> ")


def test_one_case_can_be_run_alone(shop):
    (result,) = run_one(shop, shipped_cases() / f"{NAME}.yaml")
    assert result.name == NAME and result.holds


@pytest.mark.parametrize(
    "text",
    [
        "{",
        "[]",
        '{"cases": {}}',
        '{"howdeep_case_figures": 99, "cases": {}}',
        "\xff",
        '{"howdeep_case_figures": 1, "cases": {"a": {"scope": "outside"}}}',
    ],
)
def test_a_damaged_file_is_refused_with_its_name(tmp_path, text):
    (tmp_path / "figures.json").write_bytes(text.encode("latin-1"))
    with pytest.raises(HowdeepError) as error:
        read_figures(tmp_path)
    assert "figures.json" in str(error.value.faults[0])
    shutil.copy(shipped_cases() / f"{NAME}.yaml", tmp_path)
    told = CliRunner().invoke(app, ["cases", str(tmp_path)])
    assert isinstance(told.exception, HowdeepError)
    assert CliRunner().invoke(app, ["cases", str(tmp_path), "--keep-figures"]).exit_code == 0
    assert sorted(read_figures(tmp_path)) == [NAME]


def test_keeping_figures_does_not_hide_an_expectation_that_fails(tmp_path):
    case = (shipped_cases() / f"{NAME}.yaml").read_text(encoding="utf-8")
    path = tmp_path / f"{NAME}.yaml"
    path.write_text(re.sub(r"scope: \[.*\]", "scope: [replace]", case), encoding="utf-8")
    for extra, code in (([], 1), (["--keep-figures"], 1)):
        done = CliRunner().invoke(app, ["cases", str(tmp_path), *extra])
        assert done.exit_code == code and "expected replace" in done.output
    path.write_text(case, encoding="utf-8")
    write_figures(tmp_path, {})
    assert CliRunner().invoke(app, ["cases", str(tmp_path), "--keep-figures"]).exit_code == 0
    done = CliRunner().invoke(app, ["cases", str(tmp_path)])
    assert done.exit_code == 0 and "1 hold, 0 fail." in done.output
