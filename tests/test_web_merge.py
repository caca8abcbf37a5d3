"""Three states of an observation put together: nothing that one person typed is lost or overwritten by another."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.job.sections import LATER, UNKNOWN
from howdeep.web.forms import cell_text, cells_of
from howdeep.web.merge import merge, shown_as

COUNTS = {"cylinder": 6, "main": 4, "crankpin": 6, "inlet_valve": 6, "exhaust_valve": 6, "": 1}


def one_of_each_shape(knowledge):
    shapes = {}
    for name, item in knowledge.observations.items():
        shapes.setdefault((item.each, item.kind, bool(item.rows)), name)
    return sorted(shapes.values())


def words(item):
    if item.kind == "choice":
        return st.sampled_from(sorted(item.answers))
    return st.integers(1, 9).map(lambda number: f"{number} in")


@st.composite
def states(draw, item, name):
    """A plain value as a job may hold it, of the forms that a file may have."""
    count = COUNTS[item.each]
    word = words(item)
    kind = draw(st.sampled_from(["none", UNKNOWN, LATER, "value", "value"]))
    if kind != "value":
        return None if kind == "none" else kind
    if not item.each:
        return draw(word)
    if item.rows:
        cell = st.one_of(st.just(UNKNOWN), word)
        width = len(item.columns) or 1
        line = st.fixed_dictionaries({row: st.lists(cell, min_size=width, max_size=width) for row in item.rows})
        return draw(st.dictionaries(st.integers(1, count), line, min_size=1))
    shape = draw(st.sampled_from(["some", "all", "list"]))
    if shape == "all":
        return {"all": draw(word)}
    if shape == "list":
        return draw(st.lists(st.one_of(st.just(UNKNOWN), word), min_size=count, max_size=count))
    return draw(st.dictionaries(st.integers(1, count), word, min_size=1))


@settings(max_examples=300, deadline=None)
@given(data=st.data())
def test_each_field_has_one_of_three_fates(shipped, data):
    name = data.draw(st.sampled_from(one_of_each_shape(shipped)))
    item = shipped.observations[name]
    base, stored = data.draw(states(item, name)), data.draw(states(item, name))
    cells = cells_of(item, name, COUNTS[item.each])
    mine = {
        cell.field: data.draw(st.one_of(st.just(cell_text(item, base, cell)), st.just(""), words(item)))
        for cell in cells
    }
    form = {f"was.{name}": shown_as(base), **mine}
    merged = merge(item, name, COUNTS[item.each], form, stored)
    clashing = {clash.field for clash in merged.clashes}
    for cell in cells:
        before, now, sent = cell_text(item, base, cell), cell_text(item, stored, cell), mine[cell.field]
        after = cell_text(item, merged.plain if merged.changed else stored, cell)
        if sent == before:
            assert after == now, "a field that was left alone moved"
            assert cell.field not in clashing
        elif now == before and not (stored == UNKNOWN and base != UNKNOWN):
            assert after == sent and cell.field not in clashing, "a field that only the sender changed was not taken"
        elif now != sent:
            assert cell.field in clashing, "a value of somebody else was overwritten"
        if cell.field in clashing:
            assert merged.typed[cell.field] == sent, "what was typed is gone from the form that comes back"


@settings(max_examples=150, deadline=None)
@given(data=st.data())
def test_a_form_sent_back_untouched_changes_nothing(shipped, data):
    name = data.draw(st.sampled_from(one_of_each_shape(shipped)))
    item = shipped.observations[name]
    base = data.draw(states(item, name))
    form = {
        f"was.{name}": shown_as(base),
        f"{name}.unit": "mm",
        **{cell.field: cell_text(item, base, cell) for cell in cells_of(item, name, COUNTS[item.each])},
    }
    merged = merge(item, name, COUNTS[item.each], form, base)
    assert not merged.changed and not merged.clashes


@settings(max_examples=150, deadline=None)
@given(data=st.data())
def test_what_was_shown_to_clash_can_be_saved_or_left_the_second_time(shipped, data):
    name = data.draw(st.sampled_from(one_of_each_shape(shipped)))
    item = shipped.observations[name]
    base, stored = data.draw(states(item, name)), data.draw(states(item, name))
    cells = cells_of(item, name, COUNTS[item.each])
    form = {f"was.{name}": shown_as(base), **{cell.field: data.draw(words(item)) for cell in cells}}
    first = merge(item, name, COUNTS[item.each], form, stored)
    shown = {cell.field: first.typed.get(cell.field, cell_text(item, stored, cell)) for cell in cells}
    again = merge(item, name, COUNTS[item.each], {f"was.{name}": shown_as(stored), **shown}, stored)
    assert not again.clashes
    theirs = {f"theirs.{cell.field}": "1" for cell in cells}
    left = merge(item, name, COUNTS[item.each], {f"was.{name}": shown_as(stored), **shown, **theirs}, stored)
    assert not left.changed and not left.clashes


@pytest.mark.parametrize("said", ["", "{", "[" * 5000, "1e999", '{"1": {"2": {"3": []}}}', "null", "\ud800", "true"])
def test_any_text_may_stand_where_the_shown_state_should(shipped, said):
    item = shipped.observations["compression_dry"]
    merged = merge(
        item, "compression_dry", 4, {"was.compression_dry": said, "compression_dry.1": "90 psi"}, {1: "120 psi"}
    )
    assert merged.clashes[0].theirs == "120 psi" and merged.clashes[0].mine == "90 psi"


def test_dont_know_and_an_answer_of_somebody_else_clash_and_not_now_gives_way(shipped):
    item = shipped.observations["noise"]
    none = {"was.noise": json.dumps(None)}
    assert merge(item, "noise", 1, none, "ping", how=UNKNOWN, asked=True).clashes[0].theirs == item.answers["ping"]
    assert not merge(item, "noise", 1, none, "ping", how=LATER, asked=True).changed
    assert merge(item, "noise", 1, none, None, how=LATER, asked=True).plain == LATER
    taken = merge(item, "noise", 1, {**none, "noise": "ping"}, UNKNOWN, asked=True)
    assert taken.clashes[0].theirs == "don't know"


def test_an_answer_sent_back_as_it_was_shown_is_meant(shipped):
    item = shipped.observations["noise"]
    form = {"was.noise": json.dumps("ping"), "noise": "ping"}
    assert not merge(item, "noise", 1, form, "ping", asked=True).changed
    assert merge(item, "noise", 1, form, "knock_deep", asked=True).clashes
