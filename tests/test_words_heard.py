"""What invented customers say: how much of it is heard, that it stays so, and what is never heard."""

import json
import os
import subprocess
import sys
import time

import pytest

from howdeep.interview.amounts import with_amounts
from howdeep.interview.clauses import brought_together, clauses
from howdeep.interview.own_words import complaints_offered, said_in
from howdeep.interview.phrases import told_by, ways

from .places import ROOT

sys.path.insert(0, str(ROOT / "bench"))
import heard


@pytest.fixture(scope="module")
def listened(shipped):
    return {name: [heard.listen(shipped, one) for one in heard.sayings(name, shipped)] for name in heard.SETS}


@pytest.mark.parametrize("name", heard.SETS)
def test_no_less_is_heard_than_was_kept_and_no_more_is_heard_wrongly(listened, name):
    kept = json.loads(heard.SHARES.read_text(encoding="utf-8"))[name]
    now = heard.shares(listened[name])
    assert len(listened[name]) == {"later": 40, "country": 80, "unseen": 40}.get(name, 100)
    assert now["to be taken"] == kept["to be taken"]
    assert now["heard"] >= kept["heard"], "python bench/heard.py --misses names them"
    for share in ("wrong", "wrong in a hundred sayings", "named as not said, and offered"):
        assert now[share] <= kept[share]


def test_what_a_saying_names_as_not_said_is_not_offered(listened):
    offered = {one.saying.words: one.forbidden for some in listened.values() for one in some if one.forbidden}
    assert offered == {
        # the needle at the top of the scale is heard, and taken for a complaint of the oil pressure
        "Oil pressure shoots right up to the top of the gauge when it's running at speed.": {"complaint=oil_pressure"}
    }


# Words in which next to nothing is said, or the contrary of what they hold; all that may be offered of each.
NOT_SAID = [
    ("It is too hot to touch after an hour.", ""),
    ("It's not a bad starter, I'll give it that.", ""),
    ("I wouldn't say it smokes.", ""),
    ("I don't think it knocks.", "noise=none"),
    ("There isn't any knock or smoke.", "noise=none smoke_any=no"),
    ("It stopped smoking after we changed the oil.", "smoke_any=no"),
    ("It no longer knocks.", "noise=none"),
    ("Does it need new rings?", ""),
    ("Could it be the head gasket?", ""),
    ("My neighbour reckons it's the rings.", ""),
    ("I'd like a quote for new plugs.", ""),
    ("The water pump was changed two years ago.", ""),
    ("Had the head off years ago.", ""),
    ("She's a lovely red one.", ""),
    ("It starts and stops fine.", ""),
    ("Turn the key off and it stops at once.", ""),
    ("I put new oil in and filled it to the mark.", ""),
    ("It used to overheat.", ""),
    ("It never stops raining here.", ""),
    ("There's no water in the oil and no oil in the water.", ""),
    ("No metal in the oil either.", ""),
    ("Nothing wrong with the battery.", ""),
    ("Smoke? None.", "smoke_any=no"),
    ("We run it on red diesel.", ""),
    ("I can't see any smoke in the mirror.", "smoke_any=no"),
    ("How much is a rebuild?", ""),
    ("Someone told me it was seized but it turns.", ""),
    ("Water was under the water pump.", ""),
    ("It revved its head off.", ""),
    ("It smells like gearbox oil.", ""),
    ("The valves were ground three or four times over the years.", "valve_jobs_before=several"),
    ("Not running hot, not running cold.", "overheats=no"),
    ("It pulls poorly as well.", "power=down_some complaint=no_power"),
    ("He says not to run it.", ""),
    ("I wouldn't run it like that.", ""),
    ("You had better stop or it will seize.", ""),
    ("I shut it off before it seized itself.", ""),
    ("The rear wheel came off.", ""),
    ("My brother starts it for me.", ""),
    ("It struck the jetty last year.", ""),
    ("It stands in the field with the front loader on.", "complaint=stood kept=open"),
    ("She'd run all day and we'll see.", ""),
    ("I put a bucket of water in every two hours.", "complaint=coolant_loss coolant_use=lots"),
    ("There is a bucket under it for the drips.", "complaint=leaks"),
    ("I took it apart last winter and now it knocks.", "complaint=knocks"),
    ("I took it apart last winter. It smokes now.", "complaint=smokes smoke_any=yes"),
    ("The carb is in bits on the bench.", ""),
    ("The tools are in the boxes.", ""),
    ("I have taken the thermostat out already.", ""),
    ("Been like it since we pumped the gravel pit. Carb's been cleaned twice.", "recent_work=carburettor_or_injection"),
    ("We hit a stump and it has knocked ever since.", "complaint=knocks hit_something=yes"),
    ("I swapped the plug leads over.", ""),
    ("It takes two pulls on the rope to start it.", ""),
    ("It started knocking this morning.", "complaint=knocks"),
    ("It needs a second opinion.", ""),
    ("Nothing wrong with the starter.", ""),
    ("Turn the key and the clutch pedal is stiff.", ""),
    ("The rings and bearings are worn.", ""),
    ("I put light oil in it and it stays clean.", ""),
]


@pytest.mark.parametrize(("words", "offered"), NOT_SAID)
def test_what_is_not_said_is_not_heard(shipped, words, offered):
    assert heard.offered_of(shipped, words) == set(offered.split())


# What several ways of saying one thing come to: (words, question, answer).
SAID = [
    ("There were bits shining on it.", "oil_look", "metal_bits"),
    ("creamy yellow goo under the cap", "oil_look", "cap_cream"),
    ("It was put away three years ago.", "stood", "years"),
    ("It has stood since the spring.", "stood", "months"),
    ("Not run since the eighties.", "stood", "years"),
    ("She smokes a bit blue up the hill.", "smoke_pulling", "blue_light"),
    ("Smokes, blue, when ticking over.", "smoke_idle", "blue"),
    ("When it is pulling, black smoke.", "smoke_pulling", "black"),
    ("Ticking over there is a knock.", "noise_when", "idle"),
    ("A knock at tickover.", "noise_when", "idle"),
    ("A rattle with my foot off the throttle.", "noise_when", "overrun"),
    ("About fifteen hundred hours since it was overhauled.", "hours_since_overhaul", "500_2000"),
    ("2,500 hours since the rebuild.", "hours_since_overhaul", "over_2000"),
    ("A quart every 500 miles.", "oil_use", "quart_500_miles_or_10h"),
    ("A quart of oil every other day.", "oil_use", "quart_500_miles_or_10h"),
    # a day is ten hours' work
    ("A quart of oil a day.", "oil_use", "quart_500_miles_or_10h"),
    ("Two quarts of oil a day.", "oil_use", "worse"),
    ("A gallon of oil a day.", "oil_use", "worse"),
    ("A litre in fifteen hundred miles.", "oil_use", "little"),
    ("It's in bits on the bench.", "comes_as", "apart"),
    ("I took it apart over the winter.", "comes_as", "apart"),
    ("I took it apart over the winter and it lies apart now.", "comes_as", "apart"),
    ("I'm building it up on the stand.", "comes_as", "apart"),
    ("It came to me in two boxes and a bucket.", "comes_as", "apart"),
    ("The engine is out of the car already.", "comes_as", "loose"),
    ("It's sitting on a pallet.", "comes_as", "loose"),
    ("It snatches the rope out of my hand.", "kicks_back", "often"),
    ("You renewed the points.", "recent_work", "ignition"),
    ("You did the points.", "recent_work", "ignition"),
    ("I had the magneto off in the spring.", "recent_work", "ignition"),
    ("It starts and pulls like it always did.", "power", "good"),
    ("A puff of blue when he started it.", "smoke_start", "blue_puff"),
    ("It takes two of us to pull the rope.", "turns_over", "stiff"),
    ("We put a bigger wheel on her in the spring.", "load_asked", "more"),
    ("There's a new propeller on her.", "load_asked", "more"),
    ("It just grunts round.", "cranking_sound", "slow"),
    ("Tow it and it's off.", "start_needs", "tow_or_handle"),
    ("White stuff comes out of the pipe.", "smoke_any", "yes"),
    ("Creamy yellow goo.", "oil_look", "cap_cream"),
    ("Creamy yellow goo on the stick.", "oil_look", "milky"),
    ("It is slow up the hills.", "complaint", "no_power"),
    ("Goes into the red after two or three minutes.", "overheats", "after_minutes"),
    ("It dies after half an hour.", "stops_itself", "hot_minutes"),
]


@pytest.mark.parametrize(("words", "question", "answer"), SAID)
def test_one_thing_may_be_said_in_several_ways(shipped, words, question, answer):
    assert {said.question: said.answer for said in said_in(shipped, words)}.get(question) == answer


def test_an_answer_that_tells_trouble_is_a_complaint_where_none_is_said(shipped):
    assert complaints_offered(shipped, "You have to prime it every time.") == ("hard_start",)
    assert complaints_offered(shipped, "It gets used every week.") == ()
    assert complaints_offered(shipped, "There is no oil gauge.") == ()


@pytest.mark.parametrize(
    ("words", "plain"),
    [
        ("about three years ago", "about year#3 ago"),
        ("six or seven winters", "year#7"),
        ("two thousand hours, maybe three, since it was done", "hour#2000 since it was done"),
        ("20,000 miles", "mile#20000"),
        ("fifteen hundred hours", "hour#1500"),
        ("half an hour", "minute#30"),
        ("half a dozen years", "year#6"),
        ("a couple of weeks", "week#2"),
        ("an hour or so", "hour#1"),
        ("since last spring", "since season"),
        ("since 1987", "since year"),
        ("three cylinders", "three cylinders"),
        ("a pint a day", "a pint a day"),
    ],
)
def test_an_amount_is_one_word(words, plain):
    assert with_amounts(words) == plain


def test_what_stands_behind_a_comma_belongs_to_what_it_is_said_of():
    assert clauses("It smokes blue, when idling.") == [["smok", "blu", "idl"]]
    assert clauses("Smoke? No.") == [["not", "smok"]]
    assert clauses("No smoke or noise") == [["not", "smok", "not", "nois"]]
    # of another colour it is said of something else
    assert clauses("White smoke, black when pulling") == [["whit", "smok"], ["black", "pull"]]


def test_the_words_of_a_phrase_stand_as_it_asks():
    def words(text):
        return {way.words for way in ways("noise", "tap", text)}

    assert words("tick/tap top") == {("tick", "top"), ("tap", "top")}
    assert words("black + smoke pulls") == {("black", "smok", "pull"), ("smok", "black", "pull")}
    assert words("years>1 old") == {("year>1", "old")}
    (way,) = ways("noise", "tap", "stood .. top-end $")
    assert (way.words, way.reach) == (("stand", "top", "end", "$"), (2, 8, 0, 2))
    assert words("of the $") == set()


def test_every_phrase_of_the_rules_says_something_and_so_does_each_word_it_leaves_open(shipped):
    for name, item in shipped.observations.items():
        for answer, texts in (*item.said.items(), ("", item.not_said)):
            for text in texts:
                assert list(ways(name, answer, text)), (name, text)
                for chunk in brought_together(text).split():
                    assert "/" not in chunk or all(map(told_by, chunk.split("/"))), (name, text, chunk)


@pytest.mark.parametrize("words", ["one or ", "ten-", "very ", "no ", "1,000", "ever since   ", "smoke and knock "])
def test_no_words_take_long_to_read(shipped, words):
    said_in(shipped, "It smokes.")
    start = time.process_time()
    said_in(shipped, (words * 4000)[:4000])
    assert time.process_time() - start < 1.0


def test_what_is_heard_hangs_on_no_order_of_sets():
    script = (
        "import heard; from howdeep.assessment.session import open_shop; knowledge = open_shop().knowledge;"
        "from howdeep.interview.own_words import said_in, complaints_offered;"
        "told = [one.words for name in heard.SETS for one in heard.sayings(name, knowledge)];"
        "print([(said_in(knowledge, words), complaints_offered(knowledge, words)) for words in told])"
    )
    heard_by = {
        subprocess.run(
            [sys.executable, "-c", script],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": f"{ROOT / 'src'}:{ROOT / 'bench'}"},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2", "3")
    }
    assert len(heard_by) == 1
