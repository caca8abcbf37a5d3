"""Every page of every job: also of one with nothing, one thing or two things in it, on every engine."""

import random

import pytest

from howdeep.job import write
from howdeep.job.read import open_text
from howdeep.job.sections import LATER, UNKNOWN, section_of
from howdeep.knowledge.engine_facts import count_of
from howdeep.knowledge.engines import find, load_engine, sheet_ids
from howdeep.knowledge.where import shipped_rules
from howdeep.web.app import create_app

from .pages import HOST, Page, hidden

ENGINES = sheet_ids([shipped_rules()])
ROUNDS = 2


def some_value(rng, item, count):
    def one():
        if item.kind == "choice":
            return rng.choice([*item.answers, UNKNOWN])
        low, high = item.range or (0, 100)
        return f"{low + (high - low) * rng.random() ** 2:.4f} {item.unit}".strip()

    if not item.each:
        return rng.choice([one(), one(), one(), LATER])
    if item.rows:
        return {
            index: {row: [one() for _ in item.columns or ("",)] for row in item.rows}
            for index in rng.sample(range(1, count + 1), rng.randint(1, count))
        }
    return {index: one() for index in rng.sample(range(1, count + 1), rng.randint(1, count))}


def with_random_answers(rng, shop, name, how_many):
    engine = load_engine(find(name, shop.folders))
    plain = write.new_job(name, title=f"{how_many} random answers")
    for key in rng.sample(sorted(shop.knowledge.observations), how_many):
        item = shop.knowledge.observations[key]
        if count_of(engine, item.each):
            plain = write.with_answer(shop.knowledge, key, some_value(rng, item, count_of(engine, item.each)))(plain)
    open_text(write.text_of(plain), "made", shop.folders[0], shop.knowledge, shop.folders)  # a slip of the test, if any
    return plain


@pytest.mark.parametrize("how_many", [0, 1, 2])
@pytest.mark.parametrize("engine", ENGINES)
def test_every_page_of_a_job_with_hardly_anything_in_it_is_shown(tmp_path, shop, engine, how_many):
    page = Page(create_app(tmp_path, shop))
    for seed in range(ROUNDS if how_many else 1):
        plain = with_random_answers(random.Random(f"{engine} {how_many} {seed}"), shop, engine, how_many)
        write.create(tmp_path / f"job-{seed}.yaml", plain)
        said = [name for section in ("answers", "readings", "teardown") for name in plain.get(section, {})]
        for rest in (
            "",
            "/ask",
            "/quote",
            "/readings",
            "/answers",
            "/close",
            "/delete",
            "/why/worn_rings",
            "/why/rebuild",
            *(f"/ask?question={name}" for name in said),
        ):
            response = page.get(f"/job/job-{seed}{rest}")
            assert response.status_code == 200, (rest, plain, response.get_data(as_text=True)[-600:])


@pytest.mark.parametrize("engine", ENGINES)
def test_every_first_answer_can_be_given_on_the_page(tmp_path, shop, engine):
    page = Page(create_app(tmp_path, shop))
    rng = random.Random(engine)
    location = page.post("/new", "/new", {"engine": engine, "title": "First"}).headers["Location"]
    asked = location.split("?")[0]
    for _ in range(4):
        html = page.get(location).get_data(as_text=True)
        question = hidden(html, "question")
        item = shop.knowledge.observations[question]
        fields = (
            {question: rng.choice(list(item.answers))} if item.kind == "choice" and not item.each else {"how": UNKNOWN}
        )
        response = page.post(asked.replace("/ask", "/answer"), location, {"question": question, **fields})
        assert response.status_code == 303
        location = response.headers["Location"]
        for rest in ("", "/quote"):
            assert page.get(asked.replace("/ask", rest)).status_code == 200


@pytest.mark.parametrize("question", ["every"])
def test_every_question_of_every_engine_can_be_opened_and_every_empty_form_sent(tmp_path, shop, question):
    page = Page(create_app(tmp_path, shop))
    write.create(tmp_path / "job.yaml", write.new_job("tarn-30"))
    for name, item in shop.knowledge.observations.items():
        response = page.get(f"/job/job/ask?question={name}")
        assert response.status_code == 200 and section_of(item), name
    html = page.get("/job/job/ask").get_data(as_text=True)
    sent = page.client.post("/job/job/readings", headers=HOST, data={"form_token": hidden(html, "form_token")})
    assert sent.status_code == 303
