"""What the trade asks a customer first: its own order, and what may overtake it."""

import sys

import pytest

from howdeep.errors import HowdeepError
from howdeep.interview.first_asked import asked_first, overtaken
from howdeep.knowledge.load import load
from howdeep.knowledge.where import shipped_rules
from howdeep.logic.evaluate import evaluate_all
from howdeep.model.judgement import Asking

from .places import ROOT

sys.path.insert(0, str(ROOT / "bench"))
import questions as bench


@pytest.fixture(scope="module")
def base(shop):
    return shop.knowledge


def test_every_complaint_of_a_trouble_has_an_order_that_opens_with_how_it_stands_or_a_question_about_it(base):
    for complaint in base.observations["complaint"].answers:
        told = {"complaint": complaint}
        order = asked_first(base, told, evaluate_all(base, told))
        if complaint == "check_over":
            assert order == ()
            continue
        about = {*base.settings.spoken_of[complaint], "turns_over", "stood"}
        assert order[0] in about and len(order) >= 5, complaint
        assert "recent_work" in order, "what was done to it last is asked of every trouble"


def test_the_main_complaint_is_asked_out_before_what_else_troubles(base):
    told = {"complaint": "uses_oil", "complaint_also": "hard_start"}
    order = asked_first(base, told, evaluate_all(base, told))
    oil, start = (base.first_questions[name].asks for name in ("uses_oil", "starts_hard"))
    assert order == (*oil, *(name for name in start if name not in oil))
    assert asked_first(base, {}, evaluate_all(base, {})) == ()


@pytest.mark.parametrize(
    ("worth", "following", "wanted"),
    [
        ({"smoke": 5, "leak": 4, "hours": 14}, (), "smoke leak hours"),  # three times as much is not enough by itself
        ({"smoke": 20, "leak": 20, "hours": 38}, (), "smoke leak hours"),  # nor a quarter of an hour more
        ({"smoke": 8, "leak": 4, "hours": 24}, (), "hours smoke leak"),
        ({"smoke": 20, "leak": 4, "hours": 19}, (), "smoke hours leak"),
        ({"smoke": 5, "leak": 3, "hours": 9}, ("hours",), "smoke hours leak"),  # a follow-up of the last answer
    ],
)
def test_only_a_question_that_is_worth_clearly_more_overtakes_the_trade(worth, following, wanted):
    assert overtaken(Asking(), ("smoke", "leak"), ("hours",), worth, following) == tuple(wanted.split())


def test_the_first_questions_of_a_talk_are_those_of_the_trade(shop, tmp_path):
    found = dict(bench.first_questions(shop, tmp_path, ("uses_oil", "hard_start", "no_power")))
    assert found["uses_oil"][:2] == ["oil_use", "smoke_any"] and {"leak_rear", "leak_pan"} <= set(found["uses_oil"])
    assert found["hard_start"][:2] == ["start_cold", "start_hot"]
    power = found["no_power"]
    assert power[:3] == ["power", "misfire", "load_asked"] and "dust" in power
    assert not {"breather_fumes", "dipstick_blows"} & set(power)


def test_a_check_among_the_first_questions_is_refused_with_its_place(tmp_path):
    (tmp_path / "first_questions.yaml").write_text(
        "ours:\n  title: Who smokes is measured\n  when: {fact: complaint, is: smokes}\n"
        "  asks: [smoke_pulling, compression_dry]\n  because: x\n  source: [{standing: judgement}]\n"
    )
    with pytest.raises(HowdeepError) as found:
        load([shipped_rules(), tmp_path])
    fault = found.value.faults[0]
    assert (fault.line, "compression_dry" in fault.message, "first_looks" in fault.hint) == (4, True, True)
