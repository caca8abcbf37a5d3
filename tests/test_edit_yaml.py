"""Changes within a YAML text: the values wanted, every comment kept, everything else as it was typed."""

import copy
import time

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from howdeep.errors import HowdeepError
from howdeep.files.edit_yaml import comments_of, edited
from howdeep.files.plain_yaml import dump, dump_inline
from howdeep.files.strict_yaml import parse

TEXT = """# a job \U0001f6e0 of ours
howdeep_job: 1   # format
engine: twin
title: "it # smokes"  # no comment inside
answers:   # what she said
  runs: yes   # on the phone
  # the plugs were wet
  smoke: blue
readings: {volts: 9.8, loss: 80/62}  # my gauge
customer:
  words: |  # own words
    a # b
    c
approvals:
- date: x
  by: y   # sure
# the end
"""
ORDER = ("howdeep_job", "title", "engine", "customer", "place", "answers", "readings", "teardown", "approvals")


def changed(text, change, order=ORDER):
    old = parse(text).value
    new = copy.deepcopy(old)
    change(new)
    result = edited(text, old, new, order)
    assert parse(result).value == new
    assert sorted(comments_of(result)) == sorted(comments_of(text))
    return result


@pytest.mark.parametrize(
    ("change", "gone", "come"),
    [
        (lambda job: job["answers"].update(smoke="none"), ["  smoke: blue"], ["  smoke: none"]),
        (
            lambda job: job["answers"].update(runs={1: "oily"}),
            ["  runs: yes   # on the phone"],
            ["  # on the phone", "  runs:", "    1: oily"],
        ),
        (lambda job: job["answers"].pop("smoke"), ["  smoke: blue"], []),
        (
            lambda job: job["readings"].update(volts="9.2 V", x="1, 2"),
            ["readings: {volts: 9.8, loss: 80/62}  # my gauge"],
            ["readings: {volts: 9.2 V, loss: 80/62, x: '1, 2'}  # my gauge"],
        ),
        (
            lambda job: job["readings"].pop("loss"),
            ["readings: {volts: 9.8, loss: 80/62}  # my gauge"],
            ["readings: {volts: 9.8}  # my gauge"],
        ),
        (lambda job: job["approvals"].append({"date": "z"}), [], ["- date: z"]),
        (lambda job: job.update(teardown={"ridge": "none"}), [], ["teardown:", "  ridge: none"]),
    ],
)
def test_only_the_lines_of_what_changes_are_written_anew(change, gone, come):
    before, after = TEXT.splitlines(), changed(TEXT, change).splitlines()
    assert [line for line in before if line not in after] == gone
    assert [line for line in after if line not in before] == come


def test_a_new_part_stands_where_the_order_puts_it_and_windows_line_ends_stay():
    text = changed(TEXT.replace("\n", "\r\n"), lambda job: job.update(place={"altitude": "900 ft"}))
    assert text.count("\r\n") == text.count("\n")
    assert text.index("place:") > text.index("customer:") and text.index("place:") < text.index("approvals:")


@pytest.mark.parametrize(
    "text",
    [
        "{howdeep_job: 1, engine: twin, answers: {a: 1}} # c",
        "? engine  # why\n: twin\nanswers: {a: 1}\n",
        "engine: twin\nanswers: {a: 1, # one\n  b: 2}  # two\n",
        "---\nengine: twin\nanswers:\n    a: 1 # c\n...\n",
        "engine: twin\nanswers:\n",
        "engine: twin # c",
        "engine: twin\nanswers: # none yet\nfound: ~\n",
    ],
)
@pytest.mark.parametrize(
    "wanted",
    [
        {"engine": "twin", "answers": {"b": "x # y"}},
        {"engine": "solo"},
        {"engine": "twin", "answers": "later", "note": "a\n\nb"},
    ],
)
def test_unusual_layouts_give_the_values_wanted_and_keep_their_comments(text, wanted):
    def change(plain):
        plain.clear()
        plain.update(wanted)

    changed(text, change)


@pytest.mark.parametrize(
    "wanted",
    [
        {"a": "two\nlines"},
        {"a": "two\nlines", "b": "or\nthree"},
        {"a": "two\nlines", "b": ["blue"], "d": "or\nthree"},
        {"a": "two\nlines", "b": ["blue", "or\nthree"]},
    ],
)
def test_a_comment_that_stands_deeper_is_never_read_as_part_of_a_text_of_several_lines(wanted):
    text = "a: |-   # first\n  two\n  lines\nb:\n- blue\n\n  # deeper\n# next\n"
    result = edited(text, {"a": "two\nlines", "b": ["blue"]}, wanted)
    assert parse(result).value == wanted
    assert comments_of(result) == comments_of(text)
    assert result.startswith("a: |-   # first\n  two\n  lines\n"), "an entry that did not change was written anew"


keys = st.sampled_from("abcdefg") | st.integers(1, 4)
words = st.sampled_from(
    [
        "blue",
        "yes",
        "12 psi",
        "a # b",
        "x: y",
        "{1}",
        "- z",
        "'",
        "",
        "é\U0001f6e0",
        "true",
        "1e3",
        "two\nlines",
        "  lead",
        "80/62",
        "#",
        "a, b",
        "long " * 40,
    ]
) | st.text(
    st.characters(exclude_categories=["Cs", "Cc"], exclude_characters="\u2028\u2029\ufffe\uffff\ufeff\x85"), max_size=12
)
values = st.recursive(
    words | st.booleans() | st.integers(-99, 99) | st.none() | st.floats(-9, 9),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(keys, inner, max_size=4),
    max_leaves=8,
)
jobs = st.dictionaries(keys, values, min_size=1, max_size=6)


@st.composite
def written(draw):
    """A mapping as somebody may have typed it: braces here and lines there, comments beside and between."""
    value = draw(jobs)
    lines = []
    for key, item in value.items():
        inline = draw(st.booleans()) and isinstance(item, (dict, list))
        lines += (
            [dump_inline({key: None})[1:-1].replace("null", dump_inline(item))]
            if inline
            else dump({key: item}).rstrip("\n").split("\n")
        )
    text = []
    for number, line in enumerate(lines):
        if draw(st.integers(0, 3)) == 0:
            text.append(" " * draw(st.integers(0, 4)) + f"# own {number}")
        text.append(line + (f"   # beside {number}" if draw(st.integers(0, 3)) == 0 else ""))
    text = "\n".join(text) + draw(st.sampled_from(["", "\n", "\n# end\n", "\n\n"]))
    try:
        read = parse(text).value
    except HowdeepError:
        assume(False)
    assume(read == value)  # a comment that fell inside a text is none
    return text, value


@st.composite
def another(draw, value, depth=0):
    """The same mapping with some entries changed, taken out, or new."""
    result = {}
    for key, item in value.items():
        what = draw(st.integers(0, 5))
        if what == 0:
            continue
        if what == 1:
            result[key] = draw(values)
        elif what == 2 and isinstance(item, dict) and item and depth < 3:
            result[key] = draw(another(item, depth + 1))
        elif what == 2 and isinstance(item, list):
            result[key] = [*item, draw(values)]
        else:
            result[key] = item
    for key, item in draw(st.dictionaries(keys, values, max_size=2)).items():
        result.setdefault(key, item)
    return result


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_any_change_gives_the_values_wanted_loses_no_comment_and_leaves_the_rest_as_typed(data):
    text, old = data.draw(written())
    new = data.draw(another(old))
    assume(new)
    result = edited(text, old, new)
    read = parse(result).value
    assert read == new and list(map(type, read.values())) == list(map(type, (new[key] for key in read)))
    assert sorted(comments_of(result)) == sorted(comments_of(text))
    if set(old) & set(new):
        places = parse(text)
        for key in old:
            if key in new and new[key] == old[key] and type(new[key]) is type(old[key]):
                line = text.split("\n")[places.keys[(key,)][0] - 1]
                assert line in result, "an entry that did not change was written anew"


def test_a_large_job_is_edited_in_a_small_part_of_a_tenth_of_a_second():
    plain = {
        "howdeep_job": 1,
        "engine": "twin",
        "promises": {
            f"p{number}": {
                "quote": {
                    "lines": [
                        {"kind": "labour", "title": "Line with words", "amount": "12.50", "why": "x"} for _ in range(40)
                    ]
                }
            }
            for number in range(3)
        },
        "answers": {"runs": "yes"},
    }
    text = dump(plain)
    spent = []
    for _ in range(5):
        start = time.process_time()
        edited(text, plain, {**plain, "answers": {"runs": "no"}})
        spent.append(time.process_time() - start)
    assert len(text) > 10_000 and min(spent) < 0.05, spent
