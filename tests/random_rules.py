"""Random rule bases and random cases for the tests of the reasoning."""

from __future__ import annotations

from hypothesis import strategies as st

from howdeep.model.condition import AllOf, AnyOf, FactTest, FindingTest, Not

WORDS = ("a", "b", "c")
KINDS = {"smoke": "word", "noise": "word", "volts": "number", "loss": "number", "squeeze": "numbers", "plugs": "words"}
"""Fact -> whether it is one word, one number, or one of them per cylinder."""
LIMITS = {"low": 3.0, "high": 6.0}

_bound = st.one_of(st.integers(0, 9).map(float), st.sampled_from(sorted(LIMITS)))
_comparison = st.sampled_from(["below", "above", "at_least", "at_most"])
_bounds = st.lists(st.tuples(_comparison, _bound), min_size=1, max_size=2)
_words = st.lists(st.sampled_from(WORDS), min_size=1, max_size=2, unique=True)
_each = st.sampled_from(["any", "every", "neighbours", 1, 2, 3, 5])


@st.composite
def fact_tests(draw):
    name = draw(st.sampled_from(sorted(KINDS)))
    each = draw(_each) if KINDS[name].endswith("s") else ""
    if KINDS[name].startswith("word"):
        return FactTest(name, one_of=tuple(draw(_words)), cylinders=each)
    return FactTest(name, bounds=tuple(draw(_bounds)), cylinders=each)


def conditions(earlier: list[str]):
    """Conditions over the facts and the findings named."""
    leaves = [fact_tests()] * (1 if earlier else 2)
    if earlier:
        leaves.append(st.sampled_from(earlier).map(FindingTest))
    several = st.lists
    return st.recursive(
        st.one_of(*leaves),
        lambda inner: st.one_of(
            several(inner, min_size=1, max_size=3).map(lambda parts: AllOf(tuple(parts))),
            several(inner, min_size=1, max_size=3).map(lambda parts: AnyOf(tuple(parts))),
            inner.map(Not),
        ),
        max_leaves=6,
    )


@st.composite
def rule_bases(draw, most: int = 6):
    """Id -> condition, each reading only findings before it; ids do not follow the order of reading."""
    names = draw(st.permutations([f"r{number}" for number in range(draw(st.integers(1, most)))]))
    return {name: draw(conditions(list(names[:place]))) for place, name in enumerate(names)}


_number = st.integers(0, 9).map(float)
_odd = st.sampled_from(
    [None, True, float("nan"), float("inf"), 7, "a", "zzz", (), (None, None), ("a", 4.0, None), [1, 2]]
)


@st.composite
def cases(draw, odd: bool = True):
    """Fact -> value; some are missing, and with `odd` some are of a kind that no rule expects."""
    facts = {}
    for name, kind in KINDS.items():
        one = st.sampled_from(WORDS) if kind.startswith("word") else _number
        good = one if not kind.endswith("s") else st.lists(st.none() | one, min_size=1, max_size=4).map(tuple)
        value = draw(st.one_of(st.none(), good, good, good, *([_odd] if odd else [])))
        if value is not None:
            facts[name] = value
    return facts
