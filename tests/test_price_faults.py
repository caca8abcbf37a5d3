"""A price list that cannot be used is said at its place and stops the command: never another advice in silence."""

import os

import pytest

from howdeep.pricing.read import example_prices

from .commands import howdeep
from .pages import CASE

COMMANDS = [("assess",), ("why",), ("interview",), ("quote",), ("sheet", "assembly")]
TYPO = ('air_cleaner_element: "14.00"', 'air_cleaner_element: "14,00"')


def job_in(folder):
    path = folder / "job.yaml"
    path.write_text(CASE.read_text())
    return path


def broken_list(path):
    """The example list with one price mistyped; (line, column) of the price."""
    text = example_prices().read_text()
    assert TYPO[0] in text
    path.write_text(text.replace(*TYPO))
    line = next(number for number, row in enumerate(path.read_text().splitlines(), 1) if TYPO[1] in row)
    return line, path.read_text().splitlines()[line - 1].index('"14') + 1


def given(path, how, tmp_path):
    """(words, environment) that name a price list in one of the three ways."""
    if how == "option":
        return ("--prices", path), {}
    if how == "environment":
        return (), {"HOWDEEP_PRICES": str(path)}
    (tmp_path / "prices.yaml").write_bytes(path.read_bytes()) if path.is_file() else os.symlink(
        path, tmp_path / "prices.yaml"
    )
    return (), {}


@pytest.mark.parametrize("how", ["option", "environment", "beside"])
@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command[0])
def test_a_mistyped_price_stops_every_command_at_its_line_and_column(tmp_path, command, how):
    job, shop = job_in(tmp_path), tmp_path / "list.yaml"
    line, column = broken_list(shop)
    words, env = given(shop, how, tmp_path)
    done = howdeep(*command, job, *words, env=env, typed="q\n")
    named = tmp_path / "prices.yaml" if how == "beside" else shop
    assert done.returncode == 2 and done.stdout == "", done.stdout
    assert f"{named}:{line}:{column}: '14,00' is not a price" in done.stderr


@pytest.mark.parametrize("how", ["option", "environment", "beside"])
@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command[0])
def test_a_price_list_that_is_not_there_stops_every_command(tmp_path, command, how):
    job = job_in(tmp_path)
    words, env = given(tmp_path / "nowhere.yaml", how, tmp_path)
    done = howdeep(*command, job, *words, env=env, typed="q\n")
    assert done.returncode == 2 and done.stdout == ""
    assert str(tmp_path / ("prices.yaml" if how == "beside" else "nowhere.yaml")) in done.stderr


def test_the_record_and_the_page_do_not_pass_over_a_broken_list(tmp_path):
    job_in(tmp_path)
    broken_list(tmp_path / "prices.yaml")
    for words in (("record", tmp_path), ("page", tmp_path, "--port", "1")):
        done = howdeep(*words)
        assert done.returncode == 2 and "'14,00' is not a price" in done.stderr, words
