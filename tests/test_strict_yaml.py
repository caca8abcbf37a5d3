"""The strict reader: nothing resolved that should not be, every fault with its place."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from howdeep.errors import HowdeepError
from howdeep.files.plain_yaml import dump
from howdeep.files.strict_yaml import parse


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("no", "no"),
        ("yes", "yes"),
        ("12:30", "12:30"),
        ("010", "010"),
        ("0x1F", "0x1F"),
        ("1_000", "1_000"),
        ("true", True),
        ("True", "True"),
        ("1.5", 1.5),
        ("-3", -3),
        (".5", ".5"),
        ("1e3", 1000.0),
        ("", None),
        ("'true'", "true"),
        ("2020-01-01", "2020-01-01"),
        (".inf", ".inf"),
        ("1e999", "1e999"),
    ],
)
def test_only_true_false_and_plain_decimals_are_more_than_text(text, value):
    found = parse(f"a: {text}").value["a"]
    assert found == value and type(found) is type(value)


@pytest.mark.parametrize(
    ("text", "place", "words"),
    [
        ("a: 1\nb: 2\na: 3\n", (3, 1), "twice"),
        ("a: &x 1\nb: *x\n", (1, 4), "anchor"),
        ("a: !!python/object:os.system x\n", (1, 4), "tag"),
        ("a: {<<: {b: 1}}\n", (1, 5), "merge"),
        ("a: 1\n---\nb: 2\n", (2, 1), "second document"),
        ("a: [1, 2\n", (2, 1), "not valid YAML"),
        ("a: 'x\x07y'\n", (1, 6), "control character"),
        ("? [a]\n: 1\n", (1, 3), "key that is not plain text"),
    ],
)
def test_each_fault_has_its_line_and_column(text, place, words):
    with pytest.raises(HowdeepError) as caught:
        parse(text, "job.yaml")
    fault = caught.value.faults[0]
    assert (fault.line, fault.column) == place
    assert words in fault.message


def test_all_duplicate_keys_are_named_at_once():
    with pytest.raises(HowdeepError) as caught:
        parse("a: 1\na: 2\nb: {c: 1, c: 2}\n", "x.yaml")
    assert len(caught.value.faults) == 2


def test_an_alias_bomb_is_refused_without_being_expanded():
    bomb = "a: &a [x,x,x,x,x,x,x,x,x]\n" + "".join(
        f"{chr(98 + i)}: &{chr(98 + i)} [{','.join('*' + chr(97 + i) for _ in range(9))}]\n" for i in range(8)
    )
    with pytest.raises(HowdeepError, match="anchor"):
        parse(bomb)


def test_deep_nesting_is_refused():
    with pytest.raises(HowdeepError, match="nested deeper"):
        parse("[" * 500 + "]" * 500)


plain = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**9), 10**9)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(
        st.characters(exclude_categories=["Cs", "Cc"], exclude_characters="\u2028\u2029\ufffe\uffff\ufeff"), max_size=30
    ),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.text("abcdefghij_", min_size=1, max_size=8) | st.integers(1, 9), inner, max_size=4)
    ),
    max_leaves=12,
)


@given(plain)
def test_what_is_written_is_read_back_the_same(value):
    text = dump({"value": value})
    found = parse(text).value["value"]
    assert found == value
