"""Numbers of papers: none twice, whoever asks at the same time; the same paper keeps its own."""

import pytest

from howdeep.errors import HowdeepError
from howdeep.model.job import Job, Paper
from howdeep.quote.numbered import content_of, number_of, numbering
from howdeep.shop.numbers import take_number
from howdeep.shop.read import load_shop
from howdeep.shop.write import put_settings

from .places import ROOT
from .writers import Writer, takes_numbers


def numbered(tmp_path, small, first=1001, prefix="E-"):
    path = tmp_path / "shop.yaml"
    put_settings(path, small, {"next_number": first, "number_prefix": prefix})
    return path


def test_two_programs_that_number_at_once_never_take_one_number_twice(tmp_path, small):
    path = numbered(tmp_path, small)
    writers = [Writer(takes_numbers, path, 40) for _ in range(2)]
    taken = [number for writer in writers for number in writer.hear()]
    for writer in writers:
        writer.end()
    assert len(set(taken)) == 80 and set(taken) == {f"E-{number}" for number in range(1001, 1081)}
    assert load_shop(path, small).next_number == 1081


def test_a_program_that_ends_with_a_number_leaves_a_gap_and_no_double(tmp_path, small, monkeypatch):
    path = numbered(tmp_path, small)
    assert take_number(path, small) == "E-1001"  # and nothing is printed with it
    assert take_number(path, small) == "E-1002"


def test_a_shop_that_numbers_nothing_gives_no_number(tmp_path, small):
    assert take_number(tmp_path / "shop.yaml", small) == ""
    path = tmp_path / "shop.yaml"
    put_settings(path, small, {"signs": "A. Smith"})
    before = path.read_bytes()
    assert take_number(path, small) == "" and path.read_bytes() == before


def test_numbers_do_not_go_back_but_another_series_may_begin_anywhere(tmp_path, small):
    path = numbered(tmp_path, small)
    with pytest.raises(HowdeepError, match="given already"):
        put_settings(path, small, {"next_number": 1000})
    put_settings(path, small, {"next_number": 2000})
    put_settings(path, small, {"number_prefix": "27-", "next_number": 1})
    assert take_number(path, small) == "27-1"


@pytest.mark.parametrize(
    ("key", "wrong"), [("next_number", 0), ("next_number", -4), ("number_prefix", "a b"), ("number_prefix", "x" * 13)]
)
def test_a_number_that_is_none_stops_at_its_line(tmp_path, small, key, wrong):
    path = tmp_path / "shop.yaml"
    path.write_text(f"howdeep_shop: 1\n{key}: {wrong}\n")
    with pytest.raises(HowdeepError) as refused:
        load_shop(path, small)
    assert [fault.line for fault in refused.value.faults] == [2]


def test_a_paper_that_says_the_same_keeps_its_number_and_any_other_takes_a_new_one():
    said, other = content_of({"total": "900.00", "title": "x"}), content_of({"total": "900.01", "title": "x"})
    assert said == content_of({"title": "x", "total": "900.00"}) != other
    paper = Paper("E-1", "estimate", "2026-03-05", said, "900.00")
    job = Job(1, "twin", papers=(paper,))
    assert number_of(job, said) == "E-1" and number_of(job, other) == ""
    plain = numbering(paper)({"howdeep_job": 1})
    assert plain["papers"] == [
        {"number": "E-1", "kind": "estimate", "date": "2026-03-05", "content": said, "total": "900.00"}
    ]
    assert numbering(paper)(plain) == plain


def test_a_printed_paper_is_numbered_once_and_what_it_promises_carries_the_number(tmp_path, small):
    from howdeep.files.strict_yaml import read

    from .commands import howdeep
    from .test_quote import copy_of_case

    job = copy_of_case(tmp_path)
    numbered(tmp_path, small)
    page = tmp_path / "quote.html"
    plain = howdeep("quote", job, "--json")
    assert "number" not in plain.stdout.split("lines")[0] and "papers" not in job.read_text()
    for _ in range(2):
        done = howdeep("quote", job, "--html", page, "--force")
        assert done.returncode == 0, done.stderr
        assert "E-1001" in page.read_text()
    made = howdeep("promise", "make", job)  # the paper before it finds out first, so the promise is another paper
    assert made.returncode == 0 and "'E-1002'" in made.stderr, made.stderr
    plain = read(job).value
    assert [paper["number"] for paper in plain["papers"]] == ["E-1001", "E-1002"]
    assert list(plain["promises"]) == ["E-1002"]
    again = howdeep("quote", job, "--html", page, "--force")
    assert again.returncode == 0 and "E-1002" in page.read_text(), again.stderr
    assert "next_number: 1003" in (tmp_path / "shop.yaml").read_text()
    refused = howdeep("promise", "make", job, "E-1002", "--scope", "top_end")
    assert refused.returncode != 0 and "next_number: 1003" in (tmp_path / "shop.yaml").read_text()

    ready = tmp_path / "ready.yaml"
    ready.write_text(
        (ROOT / "cases" / "two_cylinders_of_one_branch_that_miss_together_breathe_past_a_joint.yaml").read_text()
    )
    printed = howdeep("quote", ready, "--html", page, "--force")
    made = howdeep("promise", "make", ready)
    assert printed.returncode == 0 and "'E-1003'" in made.stderr, made.stderr
