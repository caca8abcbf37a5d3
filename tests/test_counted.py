"""Of findings that tell one story only the most telling one counts."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.logic.evidence_lines import count, stories
from howdeep.model.results import Counted
from howdeep.model.truth import Truth

from .made_up import cause, finding, is_, knowledge_of, line

P, A, U = Truth.PRESENT, Truth.ABSENT, Truth.UNKNOWN


def counted_in(truths, **lines):
    knowledge = knowledge_of(
        causes={"c": cause()},
        lines={name: line(*items) for name, items in lines.items()},
        findings={name: finding(is_("o", name), c="usually") for name in truths},
    )
    return count(stories(knowledge), truths)


def test_in_a_line_the_first_present_finding_counts_and_the_others_are_already_counted():
    assert counted_in({"a": A, "b": P, "c": P, "d": U}, l=("a", "b", "c", "d")) == Counted(
        ("b",), (), {"a": "b", "c": "b"}, ("c",)
    )


def test_where_none_of_a_line_is_present_the_first_absent_one_counts():
    assert counted_in({"a": U, "b": A, "c": A}, l=("a", "b", "c")) == Counted((), ("b",), {"c": "b"})


def test_findings_in_no_line_all_count_and_unknown_ones_never():
    assert counted_in({"a": P, "b": A, "c": U}) == Counted(("a",), ("b",), {})


def test_a_finding_in_two_lines_counts_unless_one_that_counts_stands_before_it_in_one_of_them():
    # g stands before f in the second line, so f is out; with f out, the first line is told by a
    lines = {"l1": ("f", "a"), "l2": ("g", "f")}
    assert counted_in({"f": P, "a": P, "g": P}, **lines) == Counted(("a", "g"), (), {"f": "g"}, ("f",))
    # with g unknown, f tells both stories
    assert counted_in({"f": P, "a": P, "g": U}, **lines) == Counted(("f",), (), {"a": "f"}, ("a",))


def test_lines_that_contradict_each_other_are_settled_by_the_first():
    assert counted_in({"f": P, "g": P}, l1=("f", "g"), l2=("g", "f")) == Counted(("f",), (), {"g": "f"}, ("g",))


def test_an_intermediate_conclusion_never_counts():
    knowledge = knowledge_of(
        causes={"c": cause()},
        lines={"l": line("a", "b")},
        findings={"a": finding(is_("o", "x")), "b": finding(is_("o", "y"), c="usually")},
    )
    assert count(stories(knowledge), {"a": P, "b": P}) == Counted(("b",), (), {})


@given(st.integers(0, 100_000))
@settings(max_examples=60, deadline=None)
def test_no_two_findings_of_a_line_count_together_and_every_one_left_out_has_one_in_its_place(seed):
    rng = np.random.default_rng(seed)
    names = [f"f{i}" for i in range(9)]
    lines = {
        f"l{i}": tuple(names[int(j)] for j in rng.choice(9, size=int(rng.integers(2, 5)), replace=False))
        for i in range(4)
    }
    truths = {name: (P, A, U)[int(rng.integers(3))] for name in names}
    answer = counted_in(truths, **lines)
    taken = {*answer.present, *answer.absent}
    for items in lines.values():
        assert len(taken & set(items)) <= 1
    known = {name for name in names if truths[name] is not U}
    assert taken | set(answer.already) == known
    assert not taken & set(answer.already)
    for left_out, instead in answer.already.items():
        assert instead in taken
        assert any({left_out, instead} <= set(items) for items in lines.values())
    shuffled = {name: truths[name] for name in names[::-1]}
    assert counted_in(shuffled, **dict(reversed(lines.items()))) == answer
