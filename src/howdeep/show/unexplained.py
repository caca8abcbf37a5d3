"""Signs that likely nothing on the list explains, and what to do then."""

from __future__ import annotations

from ..model.causes import Finding
from ..model.condition import facts_read
from ..model.knowledge import Knowledge
from ..model.results import Assessment
from .section import Line
from .words import percent


def unexplained_lines(knowledge: Knowledge, answer: Assessment) -> tuple[Line, ...]:
    """Signs that likely enough nothing on the list explains, and what to do; silent where a listed cause
    as likely as that explains it, where it forbids running, and for what is no sign of a fault but a circumstance."""
    hands = {belief.cause: belief.hand for belief in answer.beliefs}
    least = knowledge.settings.telling.unexplained_from
    found = []
    for item in sorted(answer.unexplained, key=lambda item: (-item.nothing, item.finding)):
        finding = knowledge.findings[item.finding]
        explained = max((hands.get(cause, 0.0) for cause in finding.explained_by), default=0.0)
        if (
            item.nothing <= least
            or explained > least
            or finding.forbids_running
            or _is_circumstance(knowledge, finding)
        ):
            continue
        told = _is_told(knowledge, finding)
        what = f"nothing on our list explains it ({percent(item.nothing)}); look for what is not on the list"
        sound = item.misread < 0.2 * item.nothing and item.unlisted < 0.2 * item.nothing
        if sound and not (told and answer.contradictions):
            what = "may be harmless; sound engines show it too"
        elif sound or item.misread >= item.unlisted:
            what = "may be a mishearing; ask again" if told else "may be a misreading; look or test again"
        found.append(Line(what, finding.title, why=item.finding))
    return tuple(found)


def _is_circumstance(knowledge: Knowledge, finding: Finding) -> bool:
    """Whether a finding is what was done to the engine or when its trouble comes, as it was told: it only tells causes
    apart."""
    return finding.sort == "discriminator" and _is_told(knowledge, finding)


def _is_told(knowledge: Knowledge, finding: Finding) -> bool:
    """Whether a finding rests on the customer's word alone."""
    asked = [knowledge.observations[fact] for fact in facts_read(finding.when) if fact in knowledge.observations]
    return bool(asked) and all(item.moment == "talk" for item in asked)
