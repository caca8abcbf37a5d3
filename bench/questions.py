"""How many questions until the answer stands: the talk and the bench, a fixed full list, and a mechanic's order.

    python bench/questions.py [--every 6] [--first] [--keep FILE] [--only talk] [--oracle] [--trace CASE]

For every worked case with a complaint and a closed engine the answers given in it play the customer and the bench; what
the case does not say is answered "don't know" and counted all the same. Counted are questions, the complaint included
and the conditions of a test not, until the kind of answer and the job are those of the whole case and stay so to the
end; a case in which they never are counts as not reached. The card on which the talk reads back all that the customer's
own words say, to be confirmed with one key, counts as one question; of it the case confirms what it says as well. Two
figures beside this leave out what a mechanic would not count: whether the same work is promised or begun with, and
whether at the same depth only what cures is done or the whole of it. Three orders are asked:

- the talk and then the bench, as `howdeep interview` asks and ends by itself;
- a fixed full list: every question that makes sense on the engine, in the order of the rule base;
- for ten complaints a mechanic's order (`mechanics_order.yaml`), written down before it was run.

`--oracle` asks ten of these cases as one would who knew the case: always the known question that brings the answer
nearest to that of the whole case. It is what no order can much better. `--sound` lets the customer of a case say of all
that the case leaves out that it is as it should be; the answer wanted is then that of the case with all of this.
`--trace CASE` prints one talk, question by question, with the answer after each. `--first` prints the first five
questions of each complaint (after those on the standing of the engine) for the docs; `--every 1` takes every case,
which takes an hour or two. The time of each next question of the talk is measured on the way.
"""

from __future__ import annotations

import argparse
import dataclasses
import json
import statistics
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

from howdeep.assessment.assess import assess_for_kind
from howdeep.assessment.facts import facts_of
from howdeep.assessment.session import Shop, open_shop
from howdeep.cases.run import case_files
from howdeep.decision.askable import askable
from howdeep.files.strict_yaml import read
from howdeep.interview.flow import CONDITIONS, STANDING, flow
from howdeep.interview.heard import heard_in
from howdeep.interview.session import Part, worked_out
from howdeep.knowledge.questions import COMPLAINTS, sound_of
from howdeep.knowledge.where import shipped_cases
from howdeep.model.job import OpenJob
from howdeep.model.results import Assessment

MOST = 120
ORDERS = Path(__file__).with_name("mechanics_order.yaml")
FIRST = 5
OPENING = "own words"
"""The first card, which reads back all that the customer's own words say."""
TYPICAL = "tarn-30"

Next = Callable[[OpenJob, str], str | None]
"""(job as it stands, question asked last) -> the next question, or None where the order ends."""


@dataclasses.dataclass(frozen=True, slots=True)
class Asked:
    """How one order went on one case."""

    asked: int
    """Questions asked before the order ended."""
    known: int
    """How many of them the case answers."""
    stands: int | None
    """Questions after which the answer of the whole case, kind and job, stands to the end; None where it is never
    reached."""
    job_stands: int | None
    """The same of the job alone."""
    hooked: int | None = None
    """As `stands`, where the readings of one check that are taken one after another count as one."""
    told: int | None = None
    """As `stands`, where only questions count that the case answers."""
    work_stands: int | None = None
    """As `stands`, where a job that is promised and the same job that is begun with are one: the same work is done."""
    depth_stands: int | None = None
    """As `job_stands`, of its depth alone, whether only what cures it is done there or the whole of it."""


def told(job: OpenJob, values: dict[str, Any], unknown: set[str]) -> OpenJob:
    """The job with only these answers."""
    return dataclasses.replace(
        job,
        values=dict(sorted(values.items())),
        unknown=frozenset(unknown),
        later=frozenset(),
        job=dataclasses.replace(job.job, waived={}),
    )


def answer_in_two(shop: Shop, job: OpenJob) -> tuple[str, str]:
    """The kind of answer and the job."""
    decision = assess_for_kind(shop.knowledge, job, shop.prices)[0].decision
    return decision.kind, decision.job


def hook_ups(shop: Shop, asked: Sequence[str]) -> list[int]:
    """How many questions were asked up to each, as a mechanic counts: readings of one check that are taken one after
    another, at one hook-up, are one."""
    counts: list[int] = []
    for last, name in zip(("", *asked), asked, strict=False):
        together = any({last, name} <= set(check.observations) for check in shop.knowledge.checks.values())
        counts.append((counts[-1] if counts else 0) + (not together))
    return counts


def sit(
    shop: Shop,
    job: OpenJob,
    following: Next,
    told_as: Callable[[str, Any, tuple[str, str]], None] | None = None,
    *,
    opening: bool = False,
) -> Asked:
    """Ask in one order until it ends, or until the case has nothing more to say. `told_as` is shown each question, what
    the case answers, and the answer after it; `opening`: whether what the customer's words say is confirmed first."""
    knowledge = shop.knowledge
    wanted = answer_in_two(shop, dataclasses.replace(job, job=dataclasses.replace(job.job, waived={})))
    values: dict[str, Any] = {}
    unknown: set[str] = set()
    states: list[OpenJob] = []
    asked: list[str] = []
    last, known = "", 0
    left = {name for name in job.values if knowledge.observations[name].group != CONDITIONS}
    so = confirmed_at_once(shop, job) if opening else {}
    if so:
        values.update(so)
        states.append(told(job, values, set()))
        asked.append(OPENING)
        known += 1
    while len(states) < MOST and not values.keys() >= left:
        name = following(told(job, values, unknown), last)
        if name is None:
            break
        last = name
        asked.append(name)
        if name in job.values:
            known += 1
            values[name] = job.values[name]
            if knowledge.observations[name].moment == "test":  # a test is made with its conditions
                values.update(
                    {
                        other: value
                        for other, value in job.values.items()
                        if knowledge.observations[other].group == CONDITIONS
                    }
                )
        else:
            unknown.add(name)
        # what nobody knows is no evidence; in the whole case too the checks that nobody made stand open
        states.append(told(job, values, set()) if name in values or not states else states[-1])
    found: dict[int, tuple[str, str]] = {}

    def answered(number: int) -> tuple[str, str]:
        state = states[number]
        if id(state) not in found:
            found[id(state)] = answer_in_two(shop, state)
        return found[id(state)]

    stands = standing(len(states), lambda number: answered(number) == wanted)
    if told_as is not None:
        print(f"wanted: {wanted}, stands after {stands}")
        for number, name in enumerate(asked):
            told_as(name, job.values.get(name), answered(number))
        print(f"never asked: {', '.join(sorted(left - set(asked)))}")
    return Asked(
        len(states),
        known,
        stands,
        standing(len(states), lambda number: answered(number)[1] == wanted[1]),
        None if stands is None else hook_ups(shop, asked)[stands - 1],
        None if stands is None else sum(name in job.values or name == OPENING for name in asked[:stands]),
        standing(len(states), lambda number: work_of(answered(number)) == work_of(wanted)),
        standing(len(states), lambda number: depth_of(answered(number)) == depth_of(wanted)),
    )


def work_of(answer: tuple[str, str]) -> tuple[str, str]:
    """Kind and job, what is promised and what is begun with as one."""
    kind, job = answer
    return "begin_with" if kind == "promise" else kind, job


def depth_of(answer: tuple[str, str]) -> str:
    """How deep the engine is opened by a job."""
    return answer[1].partition(":")[0]


def confirmed_at_once(shop: Shop, job: OpenJob) -> dict[str, Any]:
    """What the customer of a case confirms on the first card, which reads back what his own words say: the answers that
    the case gives as well; and that this is all of it, where one complaint is. Nothing where none of it is so."""
    heard = heard_in(shop.knowledge, told(job, {}, set()), {})
    so = {name: value for name, value in heard.confirmed.items() if job.values.get(name) == value}
    if heard.more and COMPLAINTS[0] in so and COMPLAINTS[1] not in job.values:
        so.update(heard.more)
    return so


def said_whole(shop: Shop, job: OpenJob) -> OpenJob:
    """The case as told by a customer who, asked for what the case does not say, says that it is as it should be: a
    case leaves out what nobody remarked on. What has no sound answer stays unsaid, and so does every check."""
    knowledge, values = shop.knowledge, dict(job.values)
    while True:
        facts = facts_of(knowledge, told(job, values, set()))[0].values
        can = askable(knowledge, job.engine, facts, frozenset(values))
        more = {
            name: "nothing" if name == COMPLAINTS[1] else sound_of(item)[0]
            for name, item in knowledge.observations.items()
            if item.moment == "talk"
            and item.kind == "choice"
            and not item.each
            and (sound_of(item) or name == COMPLAINTS[1])
            and can.now(name)
        }
        if not more:
            return told(job, values, set())
        values.update(list(more.items())[:1])


def by_oracle(shop: Shop, whole: OpenJob) -> list[tuple[str, tuple[str, str]]]:
    """(question, answer after it) as one would ask who knew the case: of the questions that it answers and that make
    sense by then, the complaint first, the one that brings kind and job, else the job, else the hands nearest to those
    of the whole case; until kind and job are there. It looks one question ahead."""
    knowledge = shop.knowledge
    wanted = answer_of(shop, whole)
    conditions = {
        name: value for name, value in whole.values.items() if knowledge.observations[name].group == CONDITIONS
    }
    values: dict[str, Any] = {}
    path: list[tuple[str, tuple[str, str]]] = []
    while not path or path[-1][1] != wanted[:2]:
        facts = facts_of(knowledge, told(whole, values, set()))[0].values
        can = askable(knowledge, whole.engine, facts, frozenset(values))
        names = [name for name in whole.values if name not in values and name not in conditions and can.now(name)]
        names = [name for name in COMPLAINTS[:1] if name in names] or names
        found = {}
        for name in names:
            made = {**values, name: whole.values[name]}
            if knowledge.observations[name].moment == "test":
                made.update(conditions)
            kind, job, hands = answer_of(shop, told(whole, made, set()))
            far = sum(abs(hands.get(cause, 0.0) - hand) for cause, hand in wanted[2].items())
            found[name] = ((kind, job) != wanted[:2], job != wanted[1], far), (kind, job), made
        if not found:
            break
        name = min(found, key=lambda name: (found[name][0], name))
        values = found[name][2]
        path.append((name, found[name][1]))
    return path


def answer_of(shop: Shop, job: OpenJob) -> tuple[str, str, dict[str, float]]:
    """Kind of answer, job, and the chance of a hand of each cause."""
    answer = assess_for_kind(shop.knowledge, job, shop.prices)[0]
    return answer.decision.kind, answer.decision.job, {belief.cause: belief.hand for belief in answer.beliefs}


def standing(count: int, holds: Callable[[int], bool]) -> int | None:
    """The number of questions from which on the answer holds; None where it does not after the last."""
    first = count
    while first and holds(first - 1):
        first -= 1
    return first + 1 if first < count else None


def by_talk(shop: Shop, times: list[float]) -> Next:
    """The order of the interview: the talk until it ends by itself, then the bench."""
    bench = [False]
    answer: list[Assessment] = []
    begun: list[str] = []

    def following(job: OpenJob, last: str) -> str | None:
        while True:
            start = time.process_time()
            part: Part = "bench" if bench[0] else "talk"
            if not (bench[0] and last in job.unknown and answer):  # "don't know" is no evidence: the ranking stays
                answer[:] = [worked_out(shop, job, part)]
            now = dataclasses.replace(
                answer[0],
                not_asked=tuple(name for name in answer[0].not_asked if name not in job.unknown),
                checks=tuple(
                    dataclasses.replace(check, observations=left)
                    for check in answer[0].checks
                    if (left := tuple(name for name in check.observations if name not in job.unknown))
                ),
                questions=tuple(item for item in answer[0].questions if item.observation not in job.unknown),
            )
            begun.append(answer[0].decision.kind)
            if bench[0] and begun[0] != "promise" == begun[-1]:
                return None  # what the bench was gone to for is there
            state = flow(shop.knowledge, job, now, last, bench=bench[0])
            if not bench[0]:
                times.append(time.process_time() - start)
            if state.next is not None:
                return state.next.observation
            if bench[0]:
                return None
            bench[0] = True
            answer.clear()
            begun.clear()

    return following


def by_list(shop: Shop, order: list[str] | None = None) -> Next:
    """A fixed order: that of a list, the complaint first, or of the rule base."""
    names = list(dict.fromkeys([*COMPLAINTS, *(order or shop.knowledge.observations)]))

    def following(job: OpenJob, last: str) -> str | None:
        facts = facts_of(shop.knowledge, job)[0].values
        can = askable(shop.knowledge, job.engine, facts, frozenset(job.values) | job.unknown)
        return next(
            (name for name in names if shop.knowledge.observations[name].group != CONDITIONS and can.now(name)), None
        )

    return following


def suited(shop: Shop, paths: list[Path]) -> Iterator[tuple[Path, OpenJob]]:
    """Cases with a complaint and a closed engine."""
    for path in paths:
        job = shop.open_job(path)
        moments = {shop.knowledge.observations[name].moment for name in job.values}
        if "complaint" in job.values and "teardown" not in moments and not job.job.done:
            yield path, job


def summary(results: list[Asked], what: str) -> str:
    """Median, nine in ten, and how often it is reached. `what`: a field of Asked."""
    stands = sorted(value for item in results if (value := getattr(item, what)) is not None)
    if not stands:
        return "never reached"
    # a case that is not reached counts as beyond every figure
    ordered = [*stands, *[10**6] * (len(results) - len(stands))]

    def at(share: float) -> str:
        value = ordered[min(len(ordered) - 1, int(share * len(ordered)))]
        return str(value) if value < 10**6 else "never"

    within = sum(value <= 12 for value in stands)
    asked, known = (statistics.median(getattr(item, name) for item in results) for name in ("asked", "known"))
    return (
        f"median {at(0.5)}, nine in ten {at(0.9)}; within 12 questions {within} of {len(results)}; never reached "
        f"{len(results) - len(stands)}; asked before it ends or the case is told {asked:.0f}, of which the case "
        f"answers {known:.0f} (medians)"
    )


def first_questions(shop: Shop, folder: Path, complaints: Sequence[str] = ()) -> Iterator[tuple[str, list[str]]]:
    """(complaint, its first five questions) on a typical engine, answered as a plain case of it would be; of every
    complaint where none is named."""
    from howdeep.job import write

    orders = read(ORDERS).value
    path = folder / "typical.yaml"
    path.unlink(missing_ok=True)
    write.create(path, write.new_job(TYPICAL))
    job = shop.open_job(path)
    for complaint in complaints or shop.knowledge.observations["complaint"].answers:
        script = {
            "complaint": complaint,
            "complaint_also": "nothing",
            "runs": "yes",
            **orders.get(complaint, {}).get("answers", {}),
        }
        values: dict[str, Any] = {name: script[name] for name in COMPLAINTS}
        unknown: set[str] = set()
        asked: list[str] = []
        following, last = by_talk(shop, []), "complaint"
        while len(asked) < FIRST:
            name = following(told(job, values, unknown), last)
            if name is None:
                break
            last = name
            if name not in (*COMPLAINTS, *STANDING[:1]):
                asked.append(name)
            if name in script:
                values[name] = script[name]
            else:
                unknown.add(name)
        yield complaint, asked


def main() -> None:
    """Count over the worked cases."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--every", type=int, default=6, help="every so-manieth case")
    parser.add_argument("--first", action="store_true", help="only print the first five questions of each complaint")
    parser.add_argument("--only", choices=("talk",), help="only the talk and the bench, not the orders beside them")
    parser.add_argument("--oracle", action="store_true", help="ask ten of the cases as one who knew them")
    parser.add_argument("--trace", metavar="CASE", nargs="+", help="only print the talk of these cases")
    parser.add_argument("--sound", action="store_true", help="what the customer of a case does not say is sound")
    parser.add_argument("--from", type=int, default=0, dest="start", help="leave out so many cases first")
    parser.add_argument("--keep", type=Path, help="go on from what stands in this file, and keep each case in it")
    options = parser.parse_args()
    shop = open_shop(example_prices=True)
    if options.first:
        import tempfile

        with tempfile.TemporaryDirectory() as folder:
            for complaint, asked in first_questions(shop, Path(folder)):
                print(
                    f"- {shop.knowledge.observations['complaint'].answers[complaint]}: "
                    + "; ".join(shop.knowledge.observations[name].title.lower() for name in asked)
                )
        return
    files = case_files(shipped_cases())[options.start :: options.every]
    if options.trace:
        for path, job in suited(shop, [path for path in case_files(shipped_cases()) if path.stem in options.trace]):
            print(path.stem)
            sit(
                shop,
                said_whole(shop, job) if options.sound else job,
                by_talk(shop, []),
                lambda *shown: print("  ", *shown),
                opening=True,
            )
        return
    if options.oracle:
        ten = list(suited(shop, files))
        lengths = []
        for path, job in [ten[number * len(ten) // 10] for number in range(10)]:
            asked = by_oracle(shop, told(job, job.values, set()))
            lengths.append(len(asked))
            print(f"{path.stem}: {len(asked)} of {len(job.values)}: {', '.join(name for name, _ in asked)}", flush=True)
        print(f"one who knew: median {statistics.median(lengths)}, within 12 in {sum(n <= 12 for n in lengths)} of 10")
        return
    kept = json.loads(options.keep.read_text()) if options.keep and options.keep.exists() else {}
    orders: dict[str, Any] = read(ORDERS).value
    times: list[float] = []
    results: dict[str, list[Asked]] = {
        "talk and bench": [],
        "fixed full list": [],
        "mechanic's order": [],
        "talk and bench, same cases": [],
    }
    for path, job in suited(shop, files):
        if options.sound:
            job = said_whole(shop, job)
        complaint = job.values["complaint"]
        if path.stem not in kept:
            mine = {"talk and bench": sit(shop, job, by_talk(shop, times), opening=True)}
            if not options.only:
                mine["fixed full list"] = sit(shop, job, by_list(shop))
            if not options.only and "asked" in orders.get(complaint, {}):
                mine["mechanic's order"] = sit(shop, job, by_list(shop, orders[complaint]["asked"]))
            kept[path.stem] = {order: dataclasses.asdict(item) for order, item in mine.items()}
            if options.keep:
                options.keep.write_text(json.dumps(kept, indent=1))
        mine = {order: Asked(**item) for order, item in kept[path.stem].items()}
        for order, item in mine.items():
            results[order].append(item)
        if "mechanic's order" in mine:
            results["talk and bench, same cases"].append(mine["talk and bench"])
        print(
            path.stem, {order: (item.stands, item.asked) for order, item in mine.items()}, flush=True, file=sys.stderr
        )
    for order, items in results.items():
        if not items:
            continue
        print(f"{order}, {len(items)} cases, kind and job: {summary(items, 'stands')}")
        print(f"{order}, {len(items)} cases, job alone: {summary(items, 'job_stands')}")
        print(f"{order}, {len(items)} cases, kind and job, a hook-up as one: {summary(items, 'hooked')}")
        print(f"{order}, {len(items)} cases, kind and job, only what is answered: {summary(items, 'told')}")
        print(f"{order}, {len(items)} cases, promised or begun with as one, and job: {summary(items, 'work_stands')}")
        print(f"{order}, {len(items)} cases, depth alone: {summary(items, 'depth_stands')}")
    if times:
        print(
            f"next question of the talk, processor time: median {1000 * statistics.median(times):.0f} ms, nine in "
            f"ten {1000 * sorted(times)[int(0.9 * len(times))]:.0f} ms, {len(times)} questions"
        )


if __name__ == "__main__":
    main()
