"""What cannot be made without a tool that the shop at hand does not own."""

from __future__ import annotations

from ..model.knowledge import Knowledge


def tools_lacking(knowledge: Knowledge, observation: str) -> tuple[str, ...]:
    """Tools that an observation cannot be made without and that the shop does not own, in order of id."""
    return tuple(name for name in knowledge.not_owned if observation in knowledge.tools[name].needed_for)


def tool_sentence(knowledge: Knowledge, observation: str) -> str:
    """'needs a leakage tester ..., which this shop does not own'; empty where nothing is lacking."""
    names = [knowledge.tools[name].title for name in tools_lacking(knowledge, observation)]
    return (
        f"needs what this shop does not own: {' and '.join(name[0].lower() + name[1:] for name in names)}"
        if (names)
        else ""
    )
