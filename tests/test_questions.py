"""What a question says of itself: sound and telling answers, who speaks; the sort of a finding."""

import dataclasses

import pytest

from howdeep.beliefs import questions as howdeep_questions
from howdeep.beliefs.questions import questions_of
from howdeep.errors import HowdeepError
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.knowledge.engines import load_engine, sheet_ids
from howdeep.knowledge.load import load
from howdeep.knowledge.questions import evidence_choices, moment_of, named_of, sort_of, sound_of, speaks_of
from howdeep.knowledge.where import shipped_rules

from .places import ROOT

SEEDED = ROOT / "tests" / "seeded_rules"


@pytest.fixture(scope="module")
def base():
    return load([shipped_rules()])


def items(base):
    return [(fact, base.observations.get(fact) or base.reduced[fact]) for fact in evidence_choices(base)]


def test_every_choice_that_evidence_reads_has_a_sound_answer_and_an_order_of_the_telling_ones(base):
    """The mended class: what evidence reads is either sound or has its place in the order, never both or neither."""
    choices = evidence_choices(base)
    assert len(choices) > 100
    for fact, item in items(base):
        sound, named = sound_of(item), named_of(item)
        assert sound or "no-sound-answer" in item.excuse, fact
        assert not set(sound) & set(named) and len(set(named)) == len(named), fact
        assert set(choices[fact]) <= set(sound) | set(named), fact


def test_what_worsens_says_is_not_written_twice(base):
    for kind in (base.observations, base.reduced):
        for name, item in kind.items():
            plain = dataclasses.replace(item, sound=(), named=())
            assert not item.sound or item.sound != sound_of(plain), name
            assert not item.named or item.named != named_of(dataclasses.replace(item, named=())), name


def test_no_default_is_written_out(base):
    for name, item in base.observations.items():
        assert item.speaks is None or item.speaks != speaks_of(dataclasses.replace(item, speaks=None)), name
    for name, finding in base.findings.items():
        assert finding.sort is None or finding.sort != sort_of(base, dataclasses.replace(finding, sort=None)), name


def test_speakers_and_sorts_of_known_ones(base):
    speakers = {
        name: speaks_of(base.observations[name])
        for name in (
            "compression_dry",
            "plug_look",
            "smoke_pulling",
            "recent_work",
            "leak_rear",
            "bore_size",
            "bore_look",
        )
    }
    assert list(speakers.values()) == ["instrument", "look", "word", "hearsay", "look", "instrument", "look"]
    sorts = {
        name: sort_of(base, base.findings[name])
        for name in (
            "blue_pulling",
            "vacuum_drops_regularly",
            "compression_one_down",
            "bores_measured_beyond",
            "noise_pulling",
            "bore_near_limit",
            "engine_stuck",
        )
    }
    assert list(sorts.values()) == [
        "trouble",
        "discriminator",
        "bench",
        "bench",
        "discriminator",
        "discriminator",
        "trouble",
    ]


def test_a_direct_finding_is_never_one_that_only_tells_causes_apart(base):
    direct = [item for item in base.findings.values() if item.direct]
    assert len(direct) > 60 and all(sort_of(base, item) != "discriminator" for item in direct)


def test_a_finding_has_the_latest_moment_of_what_it_reads_through_other_findings(base):
    assert moment_of(base, base.findings["blue_pulling"]) == "talk"
    assert moment_of(base, base.findings["blue_with_good_compression"]) == "test"
    assert moment_of(base, base.findings["bores_measured_beyond"]) == "teardown"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("sound: [nothing], named: [deep]", ("'nothing' is not one of the answers",)),
        ("sound: [none], named: [deeep]", ("'deeep' is not one of the answers", "deep")),
        ("sound: [none], named: [none, deep]", ("'none' is a sound answer",)),
        ("worsens: [none, deep], named: [none]", ("'none' is a sound answer",)),
        ("sound: [none], named: [deep, deep]", ("'deep' is written twice",)),
    ],
)
def test_a_wrong_word_is_refused_with_its_place(tmp_path, text, words):
    (tmp_path / "observations.yaml").write_text(
        "knock: {title: Knock, ask: Does it knock?, moment: talk, group: noise, kind: choice, "
        f"answers: {{none: None, deep: Deep}}, {text}}}\n",
        encoding="utf-8",
    )
    with pytest.raises(HowdeepError) as caught:
        load([SEEDED, tmp_path])
    said = str(caught.value)
    assert all(word in said for word in words) and "observations.yaml:1:" in said


def test_questions_kept_from_one_engine_are_those_of_the_next(shipped):
    telling = [name for name, finding in shipped.findings.items() if finding.explained_by]
    builds = [
        engine_facts(load_engine(shipped_rules() / "engines" / f"{name}.yaml")) for name in sheet_ids([shipped_rules()])
    ]
    kept = [questions_of(shipped, build, telling) for build in builds]
    for build, questions in zip(builds, kept, strict=True):
        howdeep_questions._kept(shipped).clear()
        assert questions_of(shipped, build, telling) == questions
