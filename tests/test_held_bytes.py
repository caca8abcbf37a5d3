"""A held engine sheet typed anew through the form of a sheet is the same sheet, every figure and every byte.

`bench/held_bytes.py` holds all worked cases; here every figure of every sheet, and a sample of cases."""

import dataclasses

import pytest

from howdeep.cases.run import case_files
from howdeep.knowledge.engines import find, load_sheet, sheet_ids
from howdeep.knowledge.where import shipped_cases, shipped_rules
from howdeep.model.quantity import parse

from .retyped import answers, difference, figures_lost, held_of, retyped
from .sampling import WHOLE, some

FOLDERS = [shipped_rules()]
NAMES = some(sheet_ids(FOLDERS), 3)


@pytest.fixture(scope="module")
def typed(tmp_path_factory):
    folder = tmp_path_factory.mktemp("typed")
    return {name: retyped(name, folder, FOLDERS) for name in NAMES}


@pytest.mark.parametrize("name", NAMES)
def test_every_figure_and_word_of_a_held_sheet_comes_back(typed, name):
    assert not figures_lost(name, typed[name], FOLDERS)
    assert load_sheet(typed[name]).questions == load_sheet(find(name, FOLDERS)).questions == ()


def test_answers_of_a_sample_of_cases_are_the_same_byte_for_byte(typed, shop):
    sheets = {name: (load_sheet(find(name, FOLDERS)), load_sheet(typed[name])) for name in NAMES}
    of_sheet = {name: [case for case in case_files(shipped_cases()) if held_of(case) == name] for name in NAMES}
    cases = [case for own in of_sheet.values() for case in own[:: max(1, len(own) // (4 if WHOLE else 3))]]
    assert len(cases) > 5 and all(of_sheet.values()), "every held sheet has a case"
    for case in cases:
        held, other = (answers(shop, case, sheet, checks=False) for sheet in sheets[held_of(case)])
        assert not difference(held, other), case.stem


def test_a_figure_that_is_another_shows(typed, shop):
    """The comparison can fail: a compression a tenth lower on the same sheet moves some answer."""
    sheet = load_sheet(typed["brockwell-4"])
    band = sheet.engine.cranking_compression
    lower = dataclasses.replace(band, low=f"{0.9 * parse(band.low, unit='psi').to('psi'):g} psi")
    other = dataclasses.replace(sheet, engine=dataclasses.replace(sheet.engine, cranking_compression=lower))
    case = shipped_cases() / "smoke_and_low_compression_with_dry_seals_stays_in_the_frame.yaml"
    assert difference(*(answers(shop, case, one, checks=False) for one in (sheet, other)))
