"""What the customer's own words say is asked first, with the answer at one key: in the terminal and on the page."""

import io

import pytest
from rich.console import Console

from howdeep.errors import HowdeepError
from howdeep.interview.flow import SAID
from howdeep.interview.heard import heard_in
from howdeep.interview.own_words import offered
from howdeep.interview.session import open_desk
from howdeep.job import write
from howdeep.job.read import read_job
from howdeep.knowledge.load import load
from howdeep.knowledge.where import shipped_rules
from howdeep.show.question_card import confirming
from howdeep.terminal.interview import run
from howdeep.web.app import create_app

from .pages import Page, hidden, text

CLICK = "it only clicks when I press the starter, and the rope just spins"


def job_of(path, words, engine="tarn-30", **answers):
    write.create(path, write.new_job(engine, customer={"words": words}, answers=answers))
    return path


def test_what_is_said_is_asked_before_everything_that_is_asked_for_its_place(shop, tmp_path):
    path = job_of(tmp_path / "a.yaml", CLICK, complaint="hard_start", complaint_also="nothing")
    desk = open_desk(shop, path, "complaint_also", part="talk")
    assert (desk.flow.next.observation, desk.flow.next.reason) == ("cranking_sound", SAID)
    assert offered(shop.knowledge, desk.job, "cranking_sound") == "click"
    # the rope belongs to engines that have one; what is answered is not offered again
    assert "hand_starter" not in {question.observation for question in desk.flow.worth_asking}
    path = job_of(tmp_path / "b.yaml", CLICK, complaint="hard_start", complaint_also="nothing", cranking_sound="slow")
    desk = open_desk(shop, path, "cranking_sound", part="talk")
    assert SAID not in {question.reason for question in desk.flow.worth_asking}
    assert offered(shop.knowledge, desk.job, "cranking_sound") == ""


def test_no_match_no_offer_and_the_talk_is_as_without_words(shop, tmp_path):
    asked = [
        [
            question.observation
            for question in open_desk(
                shop,
                job_of(tmp_path / f"{number}.yaml", words, complaint="knocks", complaint_also="nothing"),
                part="talk",
            ).flow.worth_asking
        ]
        for number, words in enumerate(("", "dave said you would look at it on thursday"))
    ]
    assert asked[0] == asked[1]


def test_a_follow_up_is_offered_once_its_ground_is_there(shop, tmp_path):
    words = "a deep knock when it pulls"
    path = job_of(tmp_path / "a.yaml", words, complaint="knocks", complaint_also="nothing")
    assert open_desk(shop, path, part="talk").flow.next.observation == "noise"
    path = job_of(tmp_path / "b.yaml", words, complaint="knocks", complaint_also="nothing", noise="knock_deep")
    desk = open_desk(shop, path, "noise", part="talk")
    assert desk.flow.next.observation == "noise_when"
    assert offered(shop.knowledge, desk.job, "noise_when") == "pulling"


def test_the_key_is_y_unless_that_would_be_taken_for_an_answer(shop):
    observations = shop.knowledge.observations
    assert confirming(observations["cranking_sound"], "click") == "y" == confirming(observations["hunting"], "yes")
    assert confirming(observations["smoke_any"], "no") == "1"  # y would say that it smokes


def sitting(shop, path, typed):
    """What a sitting shows; `typed` is typed line by line, then it is left."""
    out, left = io.StringIO(), iter([*typed, "q"])
    console = Console(file=out, width=80, height=24, color_system=None)

    def ask(prompt):
        out.write(prompt)
        return next(left)

    run(shop, path, console, ask)
    return out.getvalue()


def test_in_a_terminal_one_key_confirms_all_that_the_words_say(shop, tmp_path):
    path = job_of(tmp_path / "yes.yaml", "it starts hard, only clicks when I press the starter")
    shown = sitting(shop, path, ["y"])
    values = read_job(path, shop.knowledge, shop.folders).values
    assert values["complaint"] == "hard_start" and values["complaint_also"] == "wont_start"
    assert values["cranking_sound"] == "click"
    assert "Sound of cranking: Only a click or a thump" in shown
    assert "y = so it is; or only some, such as 2 1, main complaint first; Enter = ask" in " ".join(shown.split())


def test_numbers_take_some_of_it_and_the_rest_is_offered_again_on_its_own_card(shop, tmp_path):
    path = job_of(tmp_path / "some.yaml", "it starts hard, only clicks when I press the starter")
    shown = sitting(shop, path, ["7", "2", "d", "y"])
    values = read_job(path, shop.knowledge, shop.folders).values
    assert values["complaint"] == "wont_start" and "complaint_also" not in values
    assert "y, Enter, or numbers from 1 to 3 are wanted" in shown
    assert "It sounds like: Only a click or a thump. Is that so? y = it is" in shown
    assert values["cranking_sound"] == "click"


def test_who_says_that_this_is_all_is_not_asked_what_else_and_who_has_more_is(shop, tmp_path):
    words = "it smokes blue when it pulls"
    shown = {}
    for key in ("y", "m"):
        path = job_of(tmp_path / f"{key}.yaml", words)
        shown[key] = sitting(shop, path, [key])
        values = read_job(path, shop.knowledge, shop.folders).values
        assert values["complaint"] == "smokes" and values.get("complaint_also") == ("nothing" if key == "y" else None)
    assert "what else troubles" in shown["m"] and "what else troubles" not in shown["y"]


def test_an_answer_that_hangs_on_another_is_confirmed_with_it(shop, tmp_path):
    job = shop.open_job(job_of(tmp_path / "a.yaml", "it smokes black when it pulls"))
    heard = heard_in(shop.knowledge, job, {})
    assert heard.complaints == ("smokes",) and dict(heard.signs).get("smoke_pulling", "").startswith("black")
    for question in dict(heard.signs):
        assert question not in job.values


def test_in_a_terminal_one_key_corrects_an_offer(shop, tmp_path):
    path = job_of(tmp_path / "no.yaml", "it only clicks", complaint="hard_start", complaint_also="nothing")
    sitting(shop, path, ["", "2"])
    assert read_job(path, shop.knowledge, shop.folders).values["cranking_sound"] == "slow"


def test_in_a_terminal_y_is_asked_back_where_it_could_mean_the_other_answer(shop, tmp_path):
    path = job_of(tmp_path / "a.yaml", "no smoke, it is just weak", complaint="no_power", complaint_also="nothing")
    shown = sitting(shop, path, ["", "y"])
    assert "Is that so? 1 = it is" in shown and "'y' could be meant either way: 1 is" in shown
    assert "smoke_any" not in read_job(path, shop.knowledge, shop.folders).values
    sitting(shop, path, ["", "1"])
    assert read_job(path, shop.knowledge, shop.folders).values["smoke_any"] == "no"


def test_on_the_page_one_button_confirms_and_the_other_answers_stand_below_it(shop, tmp_path):
    page = Page(create_app(tmp_path, shop))
    path = job_of(tmp_path / "job.yaml", "She smokes, and drinks oil like mad. Two quarts every day")
    for question, said in (("complaint", "smokes"), ("complaint_also", "uses_oil"), ("oil_use", "worse")):
        html = text(page.get("/job/job/ask?last=complaint"))  # one by one, past the card
        form = html.split('class="offer"')[1].split("</form>")[0]
        wording = shop.knowledge.observations[question].answers[said]
        assert f"It sounds like: <strong>{wording}</strong>" in form and "autofocus" in form
        assert hidden(form, "question") == question and hidden(form, question) == said
        assert html.count('type="radio"') == len(shop.knowledge.observations[question].answers)
        fields = {"question": question, question: hidden(form, question)}
        assert page.post("/job/job/answer", "/job/job/ask?last=complaint", fields).status_code == 303
    values = read_job(path, shop.knowledge, shop.folders).values
    assert (values["complaint"], values["complaint_also"], values["oil_use"]) == ("smokes", "uses_oil", "worse")
    assert 'class="offer"' not in text(page.get("/job/job/ask"))


def test_a_phrase_of_an_answer_that_there_is_not_is_refused_with_its_place(tmp_path):
    folder = tmp_path / "observations"
    folder.mkdir()
    (folder / "ours.yaml").write_text(
        "our_smell:\n  title: Smell in the shed\n  ask: Does it smell of paint?\n  moment: talk\n  group: running\n"
        "  kind: choice\n  answers: {no: It does not, yes: It does}\n  phrases: [smells of paint]\n"
        "  said: {yess: [smells of paint]}\n  source: [{standing: judgement}]\n"
    )
    with pytest.raises(HowdeepError) as found:
        load([shipped_rules(), tmp_path])
    assert any(fault.line == 9 and "yess" in fault.message and "yes" in fault.hint for fault in found.value.faults)
