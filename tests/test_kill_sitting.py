"""A sitting that is killed loses nothing that the screen read back: a few kills here, two hundred with the bench."""

import random
import sys

from howdeep.job import write

from .places import ROOT
from .sampling import WHOLE

sys.path.insert(0, str(ROOT / "bench"))
import kill_sitting as bench

KILLS = 10 if WHOLE else 5


def test_kills_of_an_interview_lose_no_answer_that_was_read_back(shop, tmp_path):
    tally = bench.killed_sittings(shop, tmp_path, KILLS, random.Random(3))
    assert tally.lost == [] and tally.kept == tally.read_back >= KILLS


def test_an_answer_that_is_gone_or_another_is_seen_by_the_count(shop, tmp_path, monkeypatch):
    def forgets(path, rng, keys):
        path.unlink()
        write.create(path, write.new_job("tarn-30", answers={"runs": "no"}))
        return "  Does it run: Yes, it runs.\n  Main complaint: It smokes.\n  Oil use: None", False

    title = shop.knowledge.observations["runs"].title
    monkeypatch.setattr(bench, "_one_sitting", lambda *given: (forgets(*given)[0].replace("Does it run", title), False))
    tally = bench.killed_sittings(shop, tmp_path, 1, random.Random(1))
    assert (tally.read_back, tally.kept, len(tally.lost)) == (2, 0, 2)
