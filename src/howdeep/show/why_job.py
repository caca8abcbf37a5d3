"""Why, or why not, one job: beside the one that the answer speaks of, with the figures of both."""

from __future__ import annotations

from ..assessment.explain import Explanation
from ..model.knowledge import Knowledge
from ..model.results import Assessment, JobLine
from ..model.terms import DEPTH, rung_named
from ..quote.jobs import anything_noticed
from .headline import headline, job_title, left_by, work_words
from .sentences import lower_first
from .why_figures import NAMED, cost_words, figures_words
from .words import percent


def why_job(knowledge: Knowledge, answer: Assessment, name: str) -> Explanation:
    """Why, or why not, a job: a rung's package ('refresh') or only what cures what was noticed ('refresh:only')."""
    decision = answer.decision
    rung = rung_named(name.partition(":")[0])
    line = next((line for line in decision.jobs if line.job == name), None)
    scope = knowledge.scopes[rung]
    if line is None:
        return Explanation(
            "job",
            name,
            f"{scope.title}, only what cures it",
            (
                "There is no such job here: at this depth nothing narrower than the whole of it would cure "
                "what was noticed.",
                *why_job(knowledge, answer, rung).says,
            ),
            (),
            (),
            (),
            (),
        )
    title = job_title(knowledge, line)
    if name == decision.job and decision.then != "can_wait":
        says = [
            f"This is the job of the answer: {lower_first(headline(knowledge, answer, decision.kind))}.",
            figures_words(answer, line),
        ]
        if not line.whole:
            says.append(f"Its work: {work_words(knowledge, answer)}.")
    else:
        says = [why_not_job(knowledge, answer, line), figures_words(answer, line)]
    left = [(cause, hand) for cause, hand in left_by(knowledge, answer, line).items() if hand >= 0.01][:NAMED]
    if left:
        says.append(
            "It does not cure: "
            + "; ".join(f"{lower_first(knowledge.causes[cause].title)} ({percent(hand)})" for cause, hand in left)
            + "."
        )
    return Explanation("job", name, title, (*says, scope.plain), (), (), (), ())


def why_not_job(knowledge: Knowledge, answer: Assessment, line: JobLine) -> str:
    """Why not a job, beside the one that the answer speaks of, in one sentence with the figures."""
    decision = answer.decision
    now = decision.line(decision.job)
    title, other = job_title(knowledge, line), lower_first(job_title(knowledge, now))
    if not anything_noticed(answer):
        return f"Nothing was noticed that {lower_first(title)} would have to cure."
    if line.expected is None or now.expected is None:
        if line.enough < decision.floor:
            return (
                f"{title} is enough in {percent(line.enough)}, and {other} in {percent(now.enough)}; without "
                "prices the shallowest job likely enough stands in for the cheapest."
            )
        return (
            f"{title} is enough in {percent(line.enough)}; without prices the shallowest job likely enough stands "
            f"in for the cheapest, and that is {other}."
        )
    if decision.then == "can_wait":
        return (
            f"{title} would be enough in {percent(line.enough)} for {cost_words(answer, line.price)}, but what may be "
            "behind it does no harm and can wait."
        )
    if decision.then == "stop":
        return (
            f"{title} costs {cost_words(answer, line.expected)} in the end, and stopping costs the owner "
            f"{cost_words(answer, decision.stop)}."
        )
    dearer = line.expected - now.expected
    beside = (
        f"{cost_words(answer, dearer)} more in the end than {other}"
        if dearer > 0
        else f"{cost_words(answer, -dearer)} less in the end than {other}"
        if dearer < 0
        else f"the same in the end as {other}"
    )
    text = f"{title} is enough in {percent(line.enough)} and costs {beside}"
    hopeful = knowledge.settings.deciding.hopeful
    if line.enough < hopeful:
        return f"{text}; below {percent(hopeful)} nothing is recommended, however little it costs."
    if line.enough < decision.floor <= now.enough:
        return f"{text}; it does not reach the {percent(decision.floor)} from which the shop promises."
    if dearer >= 0:
        more = line.enough - now.enough
        return (
            f"{text}, which makes it surer by {round(100 * more)} in a hundred."
            if more >= 0.005
            else f"{text}, and is no surer ({other}: {percent(now.enough)})."
        )
    if decision.then == "look_inside":
        return f"{text}; the odds are not firm enough to choose between them unseen."
    if line.enough < decision.floor:
        return f"{text}; it does not reach the {percent(decision.floor)} from which the shop promises."
    if DEPTH[now.rung] < DEPTH[line.rung]:
        return f"{text}; of jobs that cost nearly alike the least teardown comes first."
    return f"{text}; what stands, {other}, is enough in {percent(now.enough)}."
