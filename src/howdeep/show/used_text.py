"""What an answer was made with, in one line of a screen, in small print of a paper, and as plain values."""

from __future__ import annotations

from typing import Any

from ..model.used import Used
from ..quote.made_with import used_line

SHAPE = 1


def used_small_print(used: Used) -> tuple[str, ...]:
    """The whole of it in sentences, for the foot of a paper and for the full answer."""
    told = [f"Rule base {used.rule_base}."]
    if used.laid_over is not None:
        over = used.laid_over
        told.append(
            f"The shop's own rules ({over.folder}) replace {over.replaced} and add {over.added} entries; "
            f"{over.corrections} frequency words are the shop's."
        )
    what = "Engine sheet" if used.has_sheet else "No sheet; general figures of the kind"
    told.append(
        f"{what} {used.engine}"
        + (f"; {used.general} figures are general limits" if used.general else "")
        + (f"; {used.assumed} words of the build are as is usual" if used.assumed else "")
        + "."
    )
    if used.prices:
        told.append(
            f"Prices: {used.prices}, of {used.prices_date}"
            + (", an invented example" if used.prices_example else "")
            + (f"; {used.prices_missing} that were needed are missing" if used.prices_missing else "")
            + "."
        )
    if used.questioned:
        told.append(f"{len(used.questioned)} figures can hardly be right and were used as they stand.")
    if used.left_out:
        told.append(f"Given, and not counted: {'; '.join(used.left_out_titles or used.left_out)}.")
    return tuple(told)


def used_shape(used: Used) -> dict[str, Any]:
    """Plain values, documented in docs/json.md."""
    over = used.laid_over
    return {
        "howdeep_used": SHAPE,
        "rule_base": used.rule_base,
        "laid_over": None
        if over is None
        else {"folder": over.folder, "replaced": over.replaced, "added": over.added, "corrections": over.corrections},
        "engine": {"id": used.engine, "sheet": used.has_sheet, "general": used.general, "assumed": used.assumed},
        "prices": {
            "name": used.prices,
            "file": used.prices_file,
            "date": used.prices_date,
            "example": used.prices_example,
            "missing": used.prices_missing,
        }
        if used.prices
        else None,
        "questioned": list(used.questioned),
        "left_out": list(used.left_out),
    }


__all__ = ["SHAPE", "used_line", "used_shape", "used_small_print"]
