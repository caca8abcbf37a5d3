"""Prices that are examples, that have grown old, or that are not there: said, and never a change in silence."""

import dataclasses
import datetime
import importlib.util
import re
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.assessment.changes import gap_flips
from howdeep.assessment.session import Shop, open_shop
from howdeep.errors import HowdeepError
from howdeep.files.strict_yaml import read
from howdeep.model.prices import Mark
from howdeep.pricing.asked import groups
from howdeep.pricing.places import figure_at
from howdeep.pricing.read import example_prices, load_prices
from howdeep.pricing.stand_ins import missing_name, place_of, weighing, with_stand_ins
from howdeep.quote.build import build_quote
from howdeep.quote.lacking import lacking_places
from howdeep.quote.promise import quote_from_plain, quote_to_plain
from howdeep.show.answer_text import answer_lines
from howdeep.show.price_notes import price_notes
from howdeep.show.verdict import verdict_of

from .commands import howdeep
from .pages import CASE, paper
from .places import ROOT
from .sampling import WHOLE, some


def prices_told(shop, answer, prices):
    """What the verdict says of the prices."""
    return " ".join(line.text for line in verdict_of(shop.knowledge, answer, prices, ("prices",)).lines("prices"))


@pytest.fixture(scope="module")
def example(shop):
    return shop.prices


@pytest.fixture(scope="module")
def own(example):
    """The same figures as a list of the shop's own."""
    return dataclasses.replace(example, example=False, name="A shop's own")


@pytest.fixture(scope="module")
def job(shop):
    return shop.open_job(CASE)


@pytest.fixture(scope="module")
def answer(shop, own, job):
    return Shop(shop.knowledge, shop.folders, own).assess(job, checks=False, flips=False)


def without(prices, places):
    """The list without some figures, as it would be read from its file."""
    for place in places:
        table, _, name = place.partition(".")
        if not name:
            prices = dataclasses.replace(prices, **{table: ""})
        else:
            prices = dataclasses.replace(
                prices, **{table: {key: text for key, text in getattr(prices, table).items() if key != name}}
            )
    return prices


def places_of(prices):
    return [
        place
        for table in ("parts", "machine", "risk")
        for place in (f"{table}.{name}" for name in getattr(prices, table))
    ] + ["growth_charge", "reopening", "replacement"]


def sums(quote):
    return (
        quote.subtotal,
        quote.tax,
        quote.total,
        quote.low,
        quote.likely,
        quote.high,
        quote.deposit,
        [(line.subject, line.quantity, line.unit_price, line.amount) for line in quote.lines],
        [(item.operation, item.amount) for item in quote.allowances],
    )


@given(data=st.data())
@settings(max_examples=25 if WHOLE else 10, deadline=None)
def test_marking_figures_as_examples_or_dated_changes_no_sum_and_no_answer(shop, own, answer, data):
    chosen = data.draw(st.sets(st.sampled_from(places_of(own)), max_size=60))
    marks = {
        place: data.draw(st.builds(Mark, date=st.sampled_from(["", "2020-01-31", "2026-11-29"]), example=st.booleans()))
        for place in sorted(chosen)
    }
    marked = dataclasses.replace(own, marks=marks)
    assert sums(build_quote(shop.knowledge, answer, marked)) == sums(build_quote(shop.knowledge, answer, own))
    assert weighing(with_stand_ins(marked, shop.prices)) == marked  # nothing is missing, so nothing stands in


def test_a_list_read_with_marks_gives_the_same_figures_as_without(tmp_path, shop):
    plain = read(example_prices()).text.replace("example: true\n", "")
    marked = re.sub(
        r'^(  [a-z_]+): ("[0-9.]+")$', r"\1: {figure: \2, date: 2020-02-29, example: true}", plain, flags=re.MULTILINE
    )
    assert marked.count("example: true") > 130
    for name, text in (("bare.yaml", plain), ("marked.yaml", marked)):
        (tmp_path / name).write_text(text)
    bare, full = (load_prices(tmp_path / name, shop.knowledge) for name in ("bare.yaml", "marked.yaml"))
    assert dataclasses.replace(full, marks={}) == bare
    assert full.mark("parts.piston") == Mark("2020-02-29", True) and full.mark("labour_rate") == Mark(bare.date, False)


def test_each_line_of_a_quote_says_that_its_price_is_an_example_or_old(shop, own, answer):
    lines = [line for line in build_quote(shop.knowledge, answer, own).lines if line.kind in ("part", "machine")]
    first, second = lines[0], lines[1]
    marked = dataclasses.replace(
        own,
        date="2026-11-01",
        marks={first.place: Mark("", True), second.place: Mark("2024-06-01", False), "tax_percent": Mark("", True)},
    )
    quote = build_quote(shop.knowledge, answer, marked)
    notes = " ".join(price_notes(quote, "2026-11-29"))
    assert f"not this shop's prices: {first.title.lower()} (1 of {len(quote.lines)}" in notes
    assert f"Older than 365 days: the price of {second.title.lower()}." in notes and "tax is an example" in notes
    page = paper(shop, answer, quote, date="2026-11-29")
    assert page.count("[example price]") == 1 and page.count("[price of 2024-06-01, old]") == 1
    assert price_notes(quote, "2025-05-31")[1:] == ["The tax is an example, too."]  # 364 days: not old yet
    assert any("Older" in note for note in price_notes(quote, "2025-06-02"))
    assert first.place in lacking_places(quote) and second.place not in lacking_places(quote)


def test_a_price_grows_old_after_the_days_that_the_list_names(shop, own, answer):
    day = datetime.date(2026, 1, 1)
    for days, age, old in ((30, 31, True), (30, 30, False), (1000, 900, False)):
        listed = dataclasses.replace(own, date=day.isoformat(), old_after_days=days)
        told = price_notes(build_quote(shop.knowledge, answer, listed), (day + datetime.timedelta(age)).isoformat())
        assert any(f"Older than {days} days" in note for note in told) is old


def test_what_has_a_price_is_summed_and_what_has_none_is_named(shop, own, answer):
    whole = build_quote(shop.knowledge, answer, own)
    part = next(line for line in whole.lines if line.kind == "part")
    work = next(line for line in whole.lines if line.kind == "machine")
    quote = build_quote(shop.knowledge, answer, without(own, [part.place, work.place]))
    assert quote.total is None and quote.known_subtotal == whole.subtotal - part.amount - work.amount
    taxed = sum(
        line.amount
        for line in quote.lines
        if line.amount is not None and {"part": "parts", "consumable": "parts"}.get(line.kind, line.kind) in own.tax_on
    )
    assert quote.known_tax == (taxed * Decimal(own.tax_percent) / 100).quantize(Decimal("0.01"))
    assert {line.subject for line in quote.unpriced} == {part.subject, work.subject}
    note = price_notes(quote)[0]
    assert part.title in note and work.title in note and "no total" in note
    page = paper(shop, answer, quote)
    assert "not a total" in page and f"{quote.known_total:,.2f}" in page
    assert set(lacking_places(quote)[:2]) == {work.place, part.place}
    back = quote_from_plain(quote_to_plain(quote), "x")
    assert dataclasses.replace(back, enough=quote.enough, every=quote.every, allowances=()) == dataclasses.replace(
        quote, allowances=()
    )


@given(data=st.data())
@settings(max_examples=12 if WHOLE else 6, deadline=None)
def test_an_incomplete_list_never_changes_which_job_is_answered_without_saying_so(shop, own, job, data):
    """Figures taken out of the example's own list: what stands in is the same figure, so the answer stays; with
    another labour rate it may move, and then the answer says that prices were missing, and which."""
    gone = data.draw(st.sets(st.sampled_from(places_of(own)), min_size=1, max_size=40))
    rate = data.draw(st.sampled_from(["74.00", "31.00", "160.00"]))
    whole = dataclasses.replace(own, labour_rate=rate)
    short = with_stand_ins(without(whole, gone), shop.prices)
    before = Shop(shop.knowledge, shop.folders, whole).assess(job, checks=False, flips=False).decision
    made = Shop(shop.knowledge, shop.folders, short).assess(job, checks=False, flips=False)
    if rate == "74.00":
        assert dataclasses.replace(made.decision, missing=(), beyond=before.beyond) == before
    used = {missing_name(place) for place in gone} & set(made.decision.missing)
    if (made.decision.job, made.decision.kind) != (before.job, before.kind):
        assert used
    assert not made.decision.provisional
    if made.decision.missing:
        told = prices_told(shop, made, short)
        assert told.startswith("Not in the price list: ") and "stand in; a quote leaves them out" in told
        assert "Not in the price list" in " ".join(answer_lines(shop.knowledge, made, short))


def test_the_answer_says_what_follows_if_the_stand_ins_are_far_off(shop, own, job):
    short = with_stand_ins(
        without(own, ["replacement", *(place for place in places_of(own) if place.startswith(("parts.", "machine.")))]),
        shop.prices,
    )
    answer = Shop(shop.knowledge, shop.folders, short).assess(job, checks=False, flips=False, gaps=True)
    flips = gap_flips(shop.knowledge, answer, short)
    assert answer.gaps == flips and all(flip.subject == "stand_ins" for flip in flips)
    told = [line.text for line in verdict_of(shop.knowledge, answer, short, ("prices",)).lines("prices")]
    assert len(told) == 1 + len(flips) if flips else "the answer stays" in told[0]


def test_stand_ins_follow_the_labour_rate_and_are_no_prices_of_the_shop(shop, own):
    poor = dataclasses.replace(own, labour_rate="148.00", currency="EUR", parts={}, machine={}, look_inside=None)
    list_ = with_stand_ins(poor, shop.prices)
    assert list_.parts == {} and list_.stand_ins["parts.head_gasket"] == "96.00"
    assert weighing(list_).parts["head_gasket"] == "96.00" and weighing(list_).look_inside["top_end"] == "680.00"
    sold_none = with_stand_ins(dataclasses.replace(poor, look_inside={}), shop.prices)
    assert not any(place.startswith("look_inside") for place in sold_none.stand_ins)
    for place in list_.stand_ins:
        assert place_of(missing_name(place)) == place


def test_an_example_list_says_so_on_every_quote_and_screen(shop, answer):
    quote = build_quote(shop.knowledge, answer, shop.prices)
    assert quote.example and price_notes(quote, "2040-01-01") == [
        "Every price here is an invented example, not this shop's. 'howdeep prices new prices.yaml' begins a list of "
        "your own."
    ]
    assert "invented example" in prices_told(shop, answer, shop.prices)


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("labour_rate: {figure: nan}", 4, "'nan' is not a price"),
        ("labour_rate: {figure: inf, example: true}", 4, "'inf' is not a price"),
        ("labour_rate: {figure: -3}", 4, "negative"),
        ("labour_rate: {figur: 3}", 4, "did you mean figure?"),
        ("labour_rate: {figure: 3, date: yesterday}", 4, "'yesterday' is not a date"),
        ("labour_rate: {figure: 3, example: maybe}", 4, "maybe"),
        ("labour_rate: [3]", 4, "'[3]' is not a price"),
        ("labour_rate:", 4, "nothing is not a price"),
        ("labour_rate: true", 4, "'True' is not a price"),
        ("labour_rate: 3\nlook_inside: {top_end: -1}", 5, "negative"),
        ("labour_rate: 3\nlook_inside: {top_ent: 1}", 5, "top_ent"),
        ("labour_rate: 3\nlook_credit_percent: 101", 5, "more than 100"),
        ("labour_rate: 3\npromise_floor: 1.5", 5, "not a chance"),
        ("labour_rate: 3\nold_after_days: 0", 5, "'0' days"),
        ("labour_rate: 3\ntowing: nan", 5, "'nan' is not a price"),
        ("labour_rate: 3\nwait_up_to: free", 5, "'free' is not a price"),
        ("labour_rate: 3\nmarks: {}", 5, "not a field here"),
        ("labour_rate: 3\nparts: {piston: {figure: EUR 5}}", 5, "is in EUR"),
        ("labour_rate: 3\nmachine: {grind_krankpins: {figure: 5}}", 5, "did you mean grind_crankpins"),
        ("labour_rate: 3\nengine_parts: {pell-1: {piston: {figure: 5x}}}", 5, "'5x' is not a price"),
    ],
)
def test_a_figure_that_cannot_be_is_refused_at_its_place_marked_or_not(tmp_path, shop, text, line, said):
    path = tmp_path / "prices.yaml"
    path.write_text(f'name: A\ndate: 2026-11-29\ncurrency: USD\n{text}\ncomeback_charge: "100"\n')
    with pytest.raises(HowdeepError) as caught:
        load_prices(path, shop.knowledge)
    assert [fault.line for fault in caught.value.faults if said in str(fault)] == [line], caught.value


def test_every_fault_of_a_list_is_told_in_one_round(tmp_path, shop):
    path = tmp_path / "prices.yaml"
    path.write_text(
        "name: A\ndate: soon\ncurrency: USD\nlabour_rate: {figure: x}\ncomeback_charge: -1\n"
        "parts: {pistn: 4, piston: nan, ring_set: {figur: 3}}\ndiscount: 4\n"
    )
    with pytest.raises(HowdeepError) as caught:
        load_prices(path, shop.knowledge)
    told = str(caught.value)
    for said in (
        "'x' is not a price",
        "'-1' is negative",
        "there is no part 'pistn'",
        "'nan' is not a price",
        "'figur'",
        "'discount' is not a field",
    ):
        assert said in told, told


def test_the_questions_name_figures_that_are_there_and_each_once(shop):
    told = groups(shop.knowledge)
    places = [figure.of for group in told for figure in group.ask]
    assert len(told[0].ask) == 15 and len(set(places)) == len(places)
    for place in places:
        assert place == "towing" or figure_at(shop.prices, place), place
    assert {f"parts.{name}" for name in shop.knowledge.parts} | {
        f"machine.{name}" for name in shop.knowledge.machining
    } <= set(places)


def test_the_machine_works_asked_for_first_are_those_that_the_worked_cases_send_out_most(shop):
    """Every thirtieth case: of the works of the machine shop in all their jobs the ten are nine in ten."""
    first = {figure.of for figure in groups(shop.knowledge)[0].ask}
    asked = every = 0
    for path in some(sorted((ROOT / "cases").glob("*.yaml"))[::30], 2):
        answer = shop.assess(shop.open_job(path), checks=False, flips=False)
        for key in answer.works:
            for line in build_quote(shop.knowledge, answer, shop.prices, key, two_step=False).lines:
                every += line.kind == "machine"
                asked += line.kind == "machine" and line.place in first
    assert asked > 0.9 * every > 30


def test_a_quote_without_a_total_is_not_promised(tmp_path):
    (tmp_path / "job.yaml").write_text(CASE.read_text())
    (tmp_path / "prices.yaml").write_text(re.sub(r"(?m)^  ring_set: .*\n", "", example_prices().read_text()))
    job = tmp_path / "job.yaml"
    made = open_shop(None, None, job)
    answer = made.assess(made.open_job(job), checks=False, flips=False)
    for hold in ("floor", "two_steps", *(hold.hold for hold in answer.holds if hold.state == "stands")):
        assert howdeep("waive", job, hold, "--by", "O", "--how", "in person").returncode == 0
    done = howdeep("promise", "make", job, "first")
    assert done.returncode == 4 and "no total to promise: Piston ring set" in done.stderr
    assert "prices fill" in done.stderr
    assert "promises" not in job.read_text()


def test_the_pictures_of_the_docs_are_what_the_program_prints_but_for_figures_that_rules_move():
    def words(text):
        return re.sub(r"[0-9][0-9,. ]*", "0", re.sub(r" +", " ", text))

    script = ROOT / "docs" / "make_pictures.py"
    spec = importlib.util.spec_from_file_location("make_pictures", script)
    made = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(made)
    for name, text in made.pictures().items():
        kept = (script.parent / "pictures" / name).read_text(encoding="utf-8")
        assert words(kept) == words(text), f"python {script}"
        assert (
            "http" not in text.replace("http://www.w3.org/2000/svg", "")
            and f"pictures/{name}" in (ROOT / "docs" / "prices.md").read_text()
        )
