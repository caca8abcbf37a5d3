"""What a shop's own rules move is told case by case, with the entry that did it."""

import dataclasses
import json
import shutil
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from howdeep.assessment.session import open_shop
from howdeep.cases.moves import chosen_for, moves_of, own_entries
from howdeep.cli.main import app
from howdeep.show.moves_text import moves_lines, moves_shape

from .pages import CASE
from .places import ROOT

sys.path.insert(0, str(ROOT / "bench"))
from overlay_mistakes import as_text, shipped_entry

CASES = (CASE.stem, "a_dead_cylinder_with_a_tracked_cap_is_not_a_valve")


@pytest.fixture(scope="module")
def found(tmp_path_factory, own_cache):
    """Two worked cases under a hold that holds less and a limit that is as it was."""
    place = tmp_path_factory.mktemp("moves")
    own, cases = place / "own", place / "cases"
    own.mkdir()
    cases.mkdir()
    for name in CASES:
        shutil.copy(ROOT / "cases" / f"{name}.yaml", cases)
    stands = "dirty_air_cleaner_looks_like_wear"
    hold = {**shipped_entry(f"holds/{stands}"), "above": "refresh"}
    (own / "holds.yaml").write_text(as_text({stands: hold}), encoding="utf-8")
    (own / "limits.yaml").write_text(as_text({"crank_bend": shipped_entry("limits/crank_bend")}), encoding="utf-8")
    mine = open_shop(own, example_prices=True)
    base = open_shop(example_prices=True)
    return stands, moves_of(base, mine, cases, every=True), mine, own, cases


def test_a_hold_that_holds_less_is_named_as_lost_with_its_entry(found):
    stands, moves, mine, own, _ = found
    assert moves.answered == moves.of == 2 and (moves.replaced, moves.added) == (2, 0)
    lost = [change for case in moves.cases for change in case.changes if change.lost and change.what == "hold"]
    assert lost and all(
        change.before == f"{stands} (before top_end)" and change.by == (f"holds/{stands}",) for change in lost
    )
    told = "\n".join(moves_lines(mine.knowledge, moves))
    assert f"Hold lost: {stands}" in told and f"[holds/{stands}]" in " ".join(told.split())
    assert max(map(len, told.splitlines())) <= max(80, len(str(own)) + 10)
    assert json.loads(json.dumps(moves_shape(moves)))["howdeep_moves"] == 1


def test_an_entry_laid_over_itself_moves_nothing(found):
    _, moves, *_ = found
    assert not any("limits/crank_bend" in change.by for case in moves.cases for change in case.changes)


def test_the_entries_of_the_folder_are_its_own(found):
    stands, _, mine, _, _ = found
    assert own_entries(mine) == (f"holds/{stands}", "limits/crank_bend")


def test_each_entry_has_its_cases_in_the_sample():
    touched = {
        Path(f"{number:02}.yaml"): {"findings/much": 1, **({"holds/rare": 2} if number == 37 else {})}
        for number in range(50)
    }
    chosen = chosen_for(touched, ("findings/much", "holds/rare"), 5)
    assert len(chosen) == 5 and Path("37.yaml") in chosen
    assert len(chosen_for(touched, ("holds/rare",), 5)) == 1


def test_without_rules_of_ones_own_there_is_nothing_to_look_at(found):
    told = CliRunner().invoke(app, ["rules", "moves"])
    assert told.exit_code != 0 and "--rules" in str(told.exception)


def test_the_same_rules_move_nothing(found):
    _, _, mine, _, cases = found
    base = dataclasses.replace(mine, knowledge=open_shop(example_prices=True).knowledge)
    assert moves_of(base, base, cases, every=True).cases == ()
