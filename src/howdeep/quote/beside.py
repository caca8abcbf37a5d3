"""What was found at the bench and on the open engine, each beside what it should be, what matters most first."""

from __future__ import annotations

import re
from collections.abc import Iterator

from ..decision.first_looks import first_looks
from ..model.condition import facts_read, findings_read
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.observations import Observation, Reduced
from ..model.quantity import parse
from ..model.results import Assessment
from ..model.shown_units import in_prose, rounded, step_of, unit_in
from ..model.values import Value
from ..readings.compression_shown import DRY, EXPECTED, WET, WET_ANSWER
from .texts import within

READ, WANTED = 90, 100
"""Letters of a reading, and of what it should be, in a row of a paper."""
WEAR_USED = ("little", "half", "most")
"""Words of how much of the wear that a part may have is used, which is no limit passed."""
_BANDS = re.compile(r"new (?P<new>[^,;(]+)|limit (?P<limit>[^,;()]+)")
_LIMITS = re.compile(r": (?P<read>-?[\d.]+) .*\blimit (?P<limit>[\d.]+) ")
_ROUND = re.compile(r"(?:out of round|taper) ([\d.]+) \S+ \(limit ([\d.]+) ")
_WANTED = (
    (r" is (wanted|allowed)$", ""),
    (r"^the sheet wants ", ""),
    (r"^normal is (.*) give or take ", r"\1, give or take "),
    (r"^good from (.* to .*)$", r"\1"),
    (r"^good from (.*)$", r"\1 or more"),
    (r"^more than (.*) is a leak$", r"at most \1"),
    (r"^about (.*) is the most.*$", r"at most about \1"),
)
"""How a judgement says what it wants -> how a row says it."""


@dataclass(frozen=True, slots=True)
class FoundRow:
    """One thing that was measured or seen."""

    observation: str
    title: str
    read: str
    """What it was, figures in the shop's units."""
    should_be: str
    """What it should be; empty where nothing says."""
    past: bool
    """Whether it is not as it should be."""


def found_rows(knowledge: Knowledge, answer: Assessment, units: str = "") -> tuple[FoundRow, ...]:
    """Every test and every look at the open engine: those that are not as they should be first, and of these what
    speaks for the likeliest causes before the rest; then what the trade looks at first for what it was brought in for,
    so that sound readings answer the complaint. What was told is not among them; nor are the conditions of a test."""
    rows = {
        name: _row(knowledge, answer, name, units)
        for name in answer.job.values
        if knowledge.observations[name].moment != "talk" and knowledge.observations[name].group != "test_conditions"
    }
    told = [name for name in _telling(knowledge, answer) if name in rows]
    asked = [name for name in _asked_first(knowledge, answer) if name in rows]
    order = {name: place for place, name in enumerate(dict.fromkeys((*told, *asked, *rows)))}
    if WET in order and DRY in order:
        order[WET], order[DRY] = sorted((order[WET], order[DRY]), reverse=True)
    kept = [row for row in rows.values() if row is not None]
    return tuple(sorted(kept, key=lambda row: (not row.past, order[row.observation])))


def _asked_first(knowledge: Knowledge, answer: Assessment) -> Iterator[str]:
    """What the trade looks at first for what the engine was brought in for."""
    for name in first_looks(knowledge, answer.facts.values, answer.conclusions.findings, ()):
        check = knowledge.checks.get(name)
        yield from check.observations if check is not None else (name,)


def _telling(knowledge: Knowledge, answer: Assessment) -> Iterator[str]:
    """Observations behind the signs of the likeliest causes, the strongest sign first."""
    for belief in answer.beliefs[:4]:
        for step in sorted(belief.steps, key=lambda step: -step.decibans):
            if step.kind == "present" and step.label in knowledge.findings:
                yield from _read_by(knowledge, step.label)


def _read_by(knowledge: Knowledge, finding: str, depth: int = 6) -> Iterator[str]:
    when = knowledge.findings[finding].when
    for fact in sorted(facts_read(when)):
        if fact in knowledge.reduced:
            yield from knowledge.reduced[fact].taken_from
        elif fact in knowledge.observations:
            yield fact
    if depth:
        for other in sorted(findings_read(when)):
            yield from _read_by(knowledge, other, depth - 1)


def _row(knowledge: Knowledge, answer: Assessment, name: str, units: str) -> FoundRow | None:
    item, value = knowledge.observations[name], answer.job.values[name]
    if item.kind == "choice":
        return _seen(item, name, value)
    title, unit, values = item.title, item.unit, value if isinstance(value, tuple) else (value,)
    if item.shown_as:
        judged_values = answer.facts.values.get(item.shown_as, ())
        title = knowledge.reduced[item.shown_as].title
        values = judged_values if isinstance(judged_values, tuple) else ()
    grid = bool(item.rows or item.columns)
    read = "" if grid else figures_text([one for one in values if isinstance(one, float)], unit, units)
    judged = [
        (fact, answer.facts.reductions[fact])
        for fact, shape in knowledge.reduced.items()
        if fact in answer.facts.reductions
        and shape.worsens
        and shape.taken_from[:1] == (name,)
        and shape.worsens != WEAR_USED
    ]
    past = [reduction.how for fact, reduction in judged if _is_past(knowledge.reduced[fact], reduction.value)]
    if name == DRY and (band := expected_band(answer)):
        wanted = figures_text(list(band), unit, units, " to ")
    elif name == WET:
        wanted = "hardly more than dry"
    else:
        wanted = in_prose(
            next((text for text in map(wanted_of, past or [item.how for _, item in judged]) if text), ""), units
        )
    is_past = answer.facts.values.get(WET_ANSWER) == "up" if name == WET else bool(past)
    if not read:
        near = any(item.observation == name and item.kind == "too close to call" for item in answer.facts.remarks)
        within_limits = "measured, too near a limit to call" if near else "measured, within its limits"
        read = in_prose(_worst(past[0]), units) if past else within_limits if judged else "measured"
        wanted = wanted if past else ""
    return FoundRow(name, title, within(read, READ), within(wanted, WANTED), is_past)


def wanted_of(how: str) -> str:
    """What a reading should be, from the sentence that says how it was judged; empty where it does not say.

    '1: 0.0058 in, new 0.0015 in to 0.0035 in, limit 0.0070 in, usable; 2: ...' -> 'new 0.0015 in to 0.0035 in, limit
    0.0070 in'; '10 psi hot; at least 25 psi is wanted, above 69 psi is high' -> 'at least 25 psi'.
    """
    bands = {match.lastgroup: match.group().strip() for match in reversed(list(_BANDS.finditer(how)))}
    if bands:
        return ", ".join(bands[part] for part in ("new", "limit") if part in bands)
    after = f"at most {how[8:]}".partition(",")[0] if how.startswith("good to ") else how.partition("; ")[2]
    for mark in ("; ", ", above ", ", very low ", ", flat below ", " ("):
        after = after.partition(mark)[0]
    if re.match(r"\d+:", after):  # the next of several places, and no limit
        return ""
    for pattern, wanted in _WANTED:
        after = re.sub(pattern, wanted, after)
    return after


def _worst(how: str) -> str:
    """The part of a judgement that is furthest past its limit, of those that name none the first."""
    every = how.partition(" (gauge error")[0].split("; ")
    parts = [part for part in every if "beyond" in part or "grind" in part or "out of round" in part] or every
    return max(parts, key=_past_by).partition(", new ")[0].partition(", limit ")[0]


def _past_by(part: str) -> float:
    """How far a reading lies past its limit, or a journal's ovality and taper past theirs, as a share of the limit."""
    if oval := [float(read) / float(limit) for read, limit in _ROUND.findall(part) if float(limit)]:
        return max(oval) - 1.0
    told = _LIMITS.search(part)
    return abs(float(told["read"]) / float(told["limit"]) - 1.0) if told and float(told["limit"]) else 0.0


def _is_past(shape: Reduced, value: Value) -> bool:
    """Whether a verdict says of any place that it is not sound."""
    sound = shape.sound or shape.worsens[:1]
    fine = {*sound, "usable", "fair", "polish", "too_close", "doubtful"}
    words = value if isinstance(value, tuple) else (value,)
    return any(word is not None and word not in fine for word in words)


def _seen(item: Observation, name: str, value: Value) -> FoundRow | None:
    """A row for what was looked at, heard or felt; None where the answer tells nothing."""
    sound = item.sound or item.worsens[:1]
    telling = {*item.worsens, *item.named, *sound}
    words = value if isinstance(value, tuple) else (value,)
    past = [word for word in dict.fromkeys(words) if word is not None and word in telling and word not in sound]
    shown = past or [word for word in dict.fromkeys(words) if word in sound]
    if not shown:
        return None
    read = "; ".join(_with_places(item.answers.get(word, word).rstrip("."), words, word) for word in shown[:2])
    wanted = item.answers.get(sound[0], sound[0]).rstrip(".") if sound else ""
    return FoundRow(name, item.title, within(read, READ), within(wanted, WANTED) if past else "", bool(past))


def _with_places(text: str, words: tuple[Value | None, ...], word: str) -> str:
    if len(words) == 1:
        return text
    places = [str(place) for place, one in enumerate(words, 1) if one == word]
    return f"{text} (all)" if len(places) == len(words) else f"{text} (no. {', '.join(places)})"


def figures_text(values: list[float], unit: str, units: str = "", joint: str = ", ") -> str:
    """'48, 50, 46, 49 psi', in another unit of the shop's with these beside it: '3.31, 3.45 bar (48, 50 psi)'."""
    if not values:
        return ""
    sign = {"percent": " %", "": ""}.get(unit, f" {unit}")
    typed = [_typed(value, unit) for value in values]
    here = f"{joint.join(typed)}{sign}"
    to = unit_in(unit, units)
    if to == unit:
        return here
    step = step_of(unit, to)
    turned = joint.join(rounded(parse(f"{text} {unit}", unit=unit).to(to), text, step) for text in typed)
    return f"{turned} {to} ({here})"


def _typed(value: float, unit: str) -> str:
    """A figure as a mechanic writes it: four decimals of an inch, whole pounds from twenty on."""
    if unit == "in":
        return f"{value:.4f}"
    return f"{value:.0f}" if unit == "psi" and value >= 20 else f"{value:.4g}"


def expected_band(answer: Assessment) -> tuple[float, float] | None:
    """The compression that this engine should show where it was tested, psi; None where the sheet gives none."""
    low, high = (answer.facts.values.get(end) for end in EXPECTED)
    return (low, high) if isinstance(low, float) and isinstance(high, float) else None
