"""Whether the work is worth it: beside the machine's stated value and beside a replacement engine, fitted."""

from __future__ import annotations

from decimal import Decimal

from ..model.answer_kinds import Worth
from ..model.results import CostLine, JobLine


def worth_of(
    line: CostLine | JobLine,
    currency: str,
    value_running: Decimal | None,
    replacement: Decimal | None,
    asked_from: float,
) -> tuple[tuple[Worth, ...], str]:
    """The verdicts on the recommended work, and what is said of them; nothing where neither figure is stated. The owner
    is asked from the share `asked_from` of the machine's value on.

    Beyond repair is work whose own price is more than the machine is worth running. A first step that costs less and is
    expected to lead to more than the machine is worth is no reason to stop yet, but to ask.
    """
    if line.expected is None or line.price is None:
        return (), ""
    verdicts: list[Worth] = []
    said: list[str] = []
    if value_running is not None and value_running > 0:
        price, cost, worth = (_sum(currency, figure) for figure in (line.price, line.expected, value_running))
        percent = f"{line.expected * 100 / value_running:.0f} %"
        if line.price > value_running:
            verdicts.append("beyond repair")
            end = f", {cost} expected in the end" if cost != price else ""
            said.append(
                f"This work costs {price} before tax{end}, more than the {worth} the machine is worth running: beyond "
                "repair by the figures alone, and the owner may still have reasons to mend it."
            )
        elif line.expected > value_running:
            verdicts.append("ask the owner")
            said.append(
                f"This work costs {price} before tax, and {cost} is expected with comebacks, more than the {worth} the "
                "machine is worth running: ask the owner how far to go first."
            )
        elif line.expected >= value_running * Decimal(str(asked_from)):
            verdicts.append("ask the owner")
            said.append(
                f"With comebacks reckoned in, this is expected to cost {cost}, {percent} of the {worth} the "
                "machine is worth running: ask the owner before going on."
            )
        else:
            verdicts.append("worth it")
            said.append(
                f"With comebacks reckoned in, this is expected to cost {cost}, {percent} of the {worth} the "
                "machine is worth running."
            )
    if replacement is not None and replacement > 0 and line.rung != "replace" and line.expected > replacement:
        verdicts.append("replacement costs less")
        said.append(f"A sound replacement engine, fitted, costs {_sum(currency, replacement)}, which is less.")
    return tuple(verdicts), " ".join(said)


def _sum(currency: str, amount: Decimal) -> str:
    return f"{currency} {amount:,.0f}".strip()
