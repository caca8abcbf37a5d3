"""The record in a terminal, and its calibration picture."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from ..model.knowledge import Knowledge
from ..record.learn import Lesson
from ..record.pooled import Factor
from ..record.read import Folder
from ..record.rerun import AnswerWorth, Rerun
from ..record.score import Record, Scores
from .charts import _figure, with_text
from .layout import heading, indent, item
from .words import percent

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_SHOWN = {"talk": "Told", "test": "Tested", "teardown": "Seen open"}
"""Kind of sign -> its word."""


def record_text(
    knowledge: Knowledge,
    folder: Folder,
    record: Record,
    worth: Sequence[AnswerWorth] = (),
    reruns: Sequence[Rerun] | None = None,
    lessons: Sequence[Lesson] = (),
    pooled: Sequence[Factor] = (),
) -> Iterator[RenderableType]:
    """The record, part by part."""
    yield Text(
        f"{record.jobs} closed jobs scored, {folder.open} still open, "
        f"{len({line.split(':', 1)[0] for line in folder.damaged})} left out as damaged",
        style="bold",
    )
    for line in folder.damaged[:20]:
        yield item(line, "!")
    if len(folder.damaged) > 20:
        yield indent(f"... and {len(folder.damaged) - 20} more faults.")
    if record.without_promise:
        yield indent(
            f"{record.without_promise} had no stored promise; their answers were assessed anew without the "
            "teardown, by today's rules."
        )
    promises = record.promises
    yield heading("The promises")
    known = promises.held + promises.grew + promises.came_back
    yield indent(
        f"Held {promises.held}, grew {promises.grew}, came back {promises.came_back}, not known {promises.unknown}."
    )
    if known:
        yield indent(
            f"The promised depth held in {percent(promises.held / known)} of those known (95 % interval "
            f"{percent(promises.held_low)} to {percent(promises.held_high)}). Of the money that says nothing."
        )
    yield from _bills(record)
    for title, scores in (
        ("How well the odds of causes held", record.causes),
        ("How well 'enough' held", record.enough),
    ):
        if scores:
            yield heading(title)
            yield from _scores(scores)
    if record.by_cause:
        yield heading("Causes missed or over-called")
        for entry in record.by_cause[:10]:
            if entry.missed or entry.over_called:
                yield item(
                    f"{knowledge.causes[entry.cause].title}: there in {entry.there} of {entry.looked_at} "
                    f"looked at (expected {entry.expected:.1f}); "
                    f"missed {entry.missed}, over-called {entry.over_called}"
                )
    if worth:
        yield heading("What the answers gave")
        for asked in worth[:8]:
            yield item(
                f"{knowledge.observations[asked.observation].title}: {_told_much(asked.bits)} over {asked.jobs} "
                f"jobs, moved the recommendation in {asked.moved}"
            )
        never = [asked for asked in worth if asked.jobs >= 10 and asked.moved == 0 and abs(asked.bits) < 0.01]
        if never:
            yield indent(
                "Never mattered: "
                + ", ".join(knowledge.observations[asked.observation].title.lower() for asked in never[:15])
                + "."
            )
    if reruns is not None:
        yield heading("By today's rules")
        yield indent(f"{len(reruns)} recommendations would be another one.")
        for again in reruns[:15]:
            yield item(f"{again.job}: {again.then} -> {again.now} (done: {again.done or 'not said'})")
    if lessons:
        yield heading("What the jobs say of the words")
        for lesson in lessons[:25]:
            what = (
                f"{knowledge.findings[lesson.finding].title}, with {knowledge.causes[lesson.cause].title.lower()}"
                if lesson.kind == "link"
                else f"Base odds of {knowledge.causes[lesson.cause].title.lower()}"
            )
            yield item(
                f"{what}: '{lesson.word}' -> '{lesson.proposed}' ({lesson.seen:.1f} of {lesson.jobs:.0f} jobs, "
                f"{lesson.low:.2f} to {lesson.high:.2f})"
            )
        yield indent("Proposals only: nothing changes until the files are laid over the rules.")
    if pooled:
        yield from _pooled(pooled)


def _bills(record: Record) -> Iterator[RenderableType]:
    """The money beside the promises."""
    bills, ratio = record.bills, record.promises.cost_ratio
    if bills.billed:
        yield heading("The bills")
        yield indent(
            f"Of {bills.billed} final bill{'s' * (bills.billed > 1)} with a promised sum, {bills.within} kept "
            f"within the promise ({percent(bills.within / bills.billed)}), {bills.in_range} went above it "
            f"within the range that was said, {bills.over} beyond the range."
        )
        if bills.over_by:
            middle, most = bills.over_by
            yield indent(
                f"Those above the promise were above it by {percent(middle)} in the median, {percent(most)} "
                f"at most; a recorded yes covers {bills.agreed} of {bills.in_range + bills.over}."
            )
    if ratio:
        low, middle, high = ratio
        yield indent(f"Final bill over promised sum: median {middle:.2f}, middle half {low:.2f} to {high:.2f}.")


def _pooled(pooled: Sequence[Factor]) -> Iterator[RenderableType]:
    """One line for each word and kind of sign."""
    yield heading("What all jobs say together of the words")
    for factor in pooled:
        jobs = f"{factor.jobs} job{'' if factor.jobs == 1 else 's'}"
        links = f"{factor.links} link{'' if factor.links == 1 else 's'}"
        verdict = "the jobs say otherwise" if factor.speaks else "the word stands"
        yield item(
            f"{_SHOWN[factor.channel]}, '{factor.word}': odds times {factor.factor:.2f} ({factor.low:.2f} to "
            f"{factor.high:.2f}), {jobs} behind it, {factor.seen:.1f} seen of {factor.sightings:.0f} asked for, "
            f"{factor.expected:.1f} by the word, {links}; {verdict}"
        )
    yield indent(
        "One factor for all links with the same word and the same kind of sign. It changes no rule; --learn "
        "starts from it."
    )


def _scores(scores: Scores) -> Iterator[RenderableType]:
    yield indent(
        f"Brier score {scores.brier:.4f} (base rates {scores.base_brier:.4f}); log score {scores.log:.4f} "
        f"(base rates {scores.base_log:.4f}); lower is better; {scores.count} stated chances."
    )
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for name in ("  Said", "Came true", "95 % interval", "Count"):
        table.add_column(name, justify="left" if name == "  Said" else "right", no_wrap=True)
    for entry in scores.bins:
        table.add_row(
            f"  {percent(entry.said)}",
            percent(entry.true),
            f"{percent(entry.true_low)} to {percent(entry.true_high)}",
            str(entry.count),
        )
    yield table


def calibration_picture(scores: Scores, title: str) -> str:
    """Stated chances against what came true, with intervals, as SVG."""

    def draw(axes: Axes) -> None:
        axes.plot([0, 1], [0, 1], color="#888", linewidth=0.8, linestyle="--")
        for entry in scores.bins:
            axes.plot([entry.said, entry.said], [entry.true_low, entry.true_high], color="#1d1d1b", linewidth=1)
            axes.plot([entry.said], [entry.true], marker="o", color="#1d1d1b", markersize=4)
            axes.annotate(str(entry.count), (entry.said, entry.true_high), xytext=(2, 2), textcoords="offset points")
        axes.set_xlabel("said")
        axes.set_ylabel("came true")
        axes.set_xlim(-0.03, 1.03)
        axes.set_ylim(-0.03, 1.1)

    described = "; ".join(
        f"said {percent(entry.said)}, came true {percent(entry.true)} of {entry.count}" for entry in scores.bins
    )
    return with_text(_figure(3.6, 3.2, draw), title, described)


def _told_much(bits: float) -> str:
    """How much an answer helped on average, by its mean gain in the log score."""
    return (
        "told much"
        if bits >= 0.1
        else "told a little"
        if bits >= 0.01
        else "told nothing"
        if bits > -0.01
        else "misled"
    )
