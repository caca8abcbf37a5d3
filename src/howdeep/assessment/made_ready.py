"""What an answer needs of rule base and engine alone: taken from a copy where one is sound, else made and copied."""

from __future__ import annotations

from ..beliefs import frame_copy
from ..beliefs.frames import make_ready
from ..knowledge.cache import content_of, made_cached
from ..knowledge.engine_facts import engine_facts
from ..model.engine import Engine
from ..model.knowledge import Knowledge


def made_ready(knowledge: Knowledge, engine: Engine) -> None:
    """Have the network of this way of building an engine at hand. A rule base that did not come from a folder as it
    is gets none from a copy."""
    content = content_of(knowledge)
    if content is None:
        return
    facts = engine_facts(engine)
    make_ready(
        knowledge,
        facts,
        lambda make: made_cached(
            "network",
            (content, *(f"{name}={value!r}" for name, value in sorted(facts.items()))),
            frame_copy.MADE_BY,
            make,
            frame_copy.to_plain,
            frame_copy.from_plain,
        ),
    )
