"""What an answer was made with, in one sentence, as it stands on a screen and at the foot of a paper."""

from __future__ import annotations

from ..model.used import Used


def used_line(used: Used) -> str:
    """One sentence: rules and the shop's own, engine, prices, what is questioned and left out."""
    rules = f"rules {used.rule_base}"
    if used.laid_over is not None:
        over = used.laid_over
        rules += f" under the shop's own ({over.replaced} replaced, {over.added} added)"
    engine = f"{'sheet' if used.has_sheet else 'kind'} {used.engine}"
    if used.general:
        engine += f" ({used.general} general)"
    parts = [rules, engine]
    if used.prices:
        parts.append("example prices" if used.prices_example else f"prices of {used.prices_date}")
    for count, what in ((len(used.questioned), "questioned"), (len(used.left_out), "left out")):
        if count:
            parts.append(f"{count} {what}")
    return f"Used: {'; '.join(parts)}."


__all__ = ["used_line"]
