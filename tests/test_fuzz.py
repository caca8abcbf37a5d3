"""Odd files and odd forms, a short run of bench/fuzz.py; a long one is made by hand."""

import re
import sys

import pytest

from howdeep.errors import HowdeepError
from howdeep.knowledge.engines import find, load_sheet
from howdeep.knowledge.where import shipped_rules

from .places import ROOT
from .sampling import WHOLE

sys.path.insert(0, str(ROOT / "bench"))
import fuzz as under_test
from fuzz import Fuzz, fuzz


def test_odd_files_and_forms_are_taken_or_refused_in_words():
    found = fuzz(20261129, count=110 if WHOLE else 60)
    assert found.faults == []
    assert sum(found.refused.values()) > 15 and sum(found.loaded.values()) > 5 and found.longest < under_test.SECONDS


def test_what_falls_over_is_seen(tmp_path, monkeypatch):
    made = Fuzz(1, tmp_path)
    monkeypatch.setattr(under_test, "load_prices", lambda *_: 1 / 0)
    made.one("prices")
    assert len(made.count.faults) == 1 and "ZeroDivisionError" in made.count.faults[0]


def test_what_reads_otherwise_than_its_clean_reading_is_seen(tmp_path, monkeypatch):
    made = Fuzz(1, tmp_path)
    (tmp_path / "sheet.yaml").write_text(made.sheets[0], encoding="utf-8")
    made._same("sheet", tmp_path / "sheet.yaml", lambda file: file.read_text(encoding="utf-8"))
    assert "other values" in made.count.faults[0]
    made._same("sheet", tmp_path / "sheet.yaml", lambda file: under_test.load_sheet(file).engine)
    assert len(made.count.faults) == 1


@pytest.mark.parametrize("word", ["nan", "inf", "-inf", "1e999"])
def test_a_word_that_a_computer_takes_for_a_number_is_none(tmp_path, word):
    """Found by a long run: hours of 'nan' were taken, and a price of them was none."""
    text = find("brockwell-4", [shipped_rules()]).read_text(encoding="utf-8")
    assert "valve_job: " in text
    (tmp_path / "odd.yaml").write_text(re.sub(r"valve_job: [0-9.]+", f"valve_job: {word}", text), encoding="utf-8")
    with pytest.raises(HowdeepError, match="number"):
        load_sheet(tmp_path / "odd.yaml")
