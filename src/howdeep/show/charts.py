"""Small pictures as SVG, readable in black and white, the same bytes every time. Loaded only where one is drawn."""

from __future__ import annotations

import functools
import io
import re
import textwrap
import threading
from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import Any, ParamSpec

from .words import times

HATCHES = ("", "///", "...", "xx")
INK, PALE = "#1d1d1b", "#d9d4c5"
LABEL = 40
"""Letters of a label before it is wrapped."""
KEPT = 64
"""Pictures that are kept, some 20 kB each: the same figures make the same picture."""
_Figures = ParamSpec("_Figures")
_DRAWING = threading.Lock()


def _kept(draw: Callable[_Figures, str]) -> Callable[_Figures, str]:
    """A picture is drawn once for the same figures: it takes a quarter of a second."""
    remembered: Callable[..., str] = functools.lru_cache(maxsize=KEPT)(draw)

    @functools.wraps(draw)
    def drawn(*given: _Figures.args, **options: _Figures.kwargs) -> str:
        return remembered(*(tuple(item) if isinstance(item, list) else item for item in given), **options)

    return drawn


def _figure(width: float, height: float, draw: Callable[[Any], None]) -> str:
    import matplotlib

    matplotlib.use("svg")
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    settings = matplotlib.rc_context(
        {
            "svg.hashsalt": "howdeep",
            "svg.fonttype": "none",
            "font.family": "serif",
            "font.size": 9,
            "hatch.linewidth": 0.6,
            "axes.spines.top": False,
            "axes.spines.right": False,
        }
    )
    with _DRAWING, settings:  # its settings are the whole process's
        figure = Figure(figsize=(width, height), layout="constrained")
        FigureCanvasSVG(figure)
        draw(figure.subplots())
        out = io.StringIO()
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None}, transparent=True)
    text = out.getvalue()
    return text[text.index("<svg") :]


def with_text(svg: str, title: str, description: str) -> str:
    """The picture with its title and description for a screen reader."""
    from markupsafe import escape

    number = re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-")
    tag = f'<svg role="img" aria-labelledby="t-{number} d-{number}"'
    texts = f'<title id="t-{number}">{escape(title)}</title><desc id="d-{number}">{escape(description)}</desc>'
    opened = svg.index(">") + 1
    return svg[:opened].replace("<svg", tag, 1) + texts + svg[opened:]


@_kept
def compression_bars(
    dry: Sequence[float | None],
    wet: Sequence[float | None],
    expected: tuple[float, float] | None,
    unit: str,
    decimals: int = 0,
) -> str:
    """Dry and wet readings for each cylinder beside the expected band, all in one unit."""

    def draw(axes: Any) -> None:
        places = range(1, len(dry) + 1)
        if expected:
            axes.axhspan(*expected, color=PALE, zorder=0)
        axes.bar(
            [place - 0.2 for place in places],
            [value or 0 for value in dry],
            0.38,
            color="white",
            edgecolor=INK,
            label="dry",
        )
        if any(value is not None for value in wet):
            axes.bar(
                [place + 0.2 for place in places],
                [value or 0 for value in wet],
                0.38,
                color="white",
                edgecolor=INK,
                hatch=HATCHES[1],
                label="with oil",
            )
        for offset, values in ((-0.2, dry), (0.2, wet)):
            for place, value in zip(places, values, strict=False):
                if value is not None:
                    axes.annotate(f"{value:.{decimals}f}", (place + offset, value), ha="center", va="bottom")
        axes.set_xticks(list(places), [f"{place}" for place in places])
        if expected:
            axes.annotate(
                "expected", (len(dry) + 0.45, sum(expected) / 2), va="center", ha="left", annotation_clip=False
            )
            axes.margins(y=0.12)
        axes.set_xlabel("cylinder")
        axes.set_ylabel(unit)
        if any(value is not None for value in wet):
            axes.legend(frameon=False, ncols=2, loc="lower center", bbox_to_anchor=(0.5, 1.0))

    def told(index: int, value: float | None) -> str:
        without = "not taken" if value is None else f"{value:.{decimals}f} {unit} dry"
        oiled = wet[index - 1] if index <= len(wet) else None
        return f"cylinder {index}: {without}" + (f", {oiled:.{decimals}f} with oil" if oiled is not None else "")

    described = "; ".join(told(index, value) for index, value in enumerate(dry, 1))
    if expected:
        described += f"; expected {expected[0]:.{decimals}f} to {expected[1]:.{decimals}f} {unit} (shaded)"
    return with_text(_figure(5.0, 2.3, draw), "Compression of each cylinder", described)


@_kept
def waterfall(title: str, steps: Sequence[tuple[str, float]]) -> str:
    """From base odds to the odds now: one bar a step, by the logarithm of the odds; long labels are wrapped."""
    labels = [textwrap.fill(label, LABEL) for label, _ in steps]

    def draw(axes: Any) -> None:
        level = 0.0
        for index, (_, size) in enumerate(steps):
            low = min(level, level + size)
            axes.barh(
                index,
                abs(size),
                left=low,
                color="white" if size < 0 else PALE,
                edgecolor=INK,
                hatch=HATCHES[1] if size < 0 else "",
            )
            axes.annotate(
                times(size), (max(level, level + size), index), xytext=(3, 0), textcoords="offset points", va="center"
            )
            level += size
        axes.axvline(level, color=INK, linewidth=1.2, linestyle="--")
        axes.axvline(0, color=INK, linewidth=0.6)
        axes.set_yticks(range(len(steps)), labels)
        axes.invert_yaxis()
        axes.margins(x=0.16)
        axes.set_xlabel("each bar multiplies (x) or divides (/) the odds; dashed: the odds now")

    described = "; ".join(f"{label}: {times(size)}" for label, size in steps)
    return with_text(_figure(6.8, 0.9 + _heights(labels), draw), f"How we came to: {title}", described)


@_kept
def depth_and_price(rows: Sequence[tuple[str, Decimal, str, bool]], currency: str) -> str:
    """(depth, total, chance in words, whether it is the job): what each depth costs, the job's own marked."""
    labels = [textwrap.fill(f"> {label}" if chosen else label, LABEL) for label, _, _, chosen in rows]

    def draw(axes: Any) -> None:
        for index, (_, total, chance, chosen) in enumerate(rows):
            axes.barh(
                index, float(total), color=PALE if chosen else "white", edgecolor=INK, linewidth=1.6 if chosen else 0.8
            )
            _beside(axes, index, total, f"{total:,.0f}, {chance}", bold=chosen)
        _down(axes, labels, max(float(total) for _, total, _, _ in rows))
        axes.set_xlabel(f"{currency} with tax, before what may turn up; shaded: this job")

    described = "; ".join(
        f"{label}: {total:,.0f}, {chance}" + (", this job" if chosen else "") for label, total, chance, chosen in rows
    )
    return with_text(_figure(6.8, 0.7 + _heights(labels), draw), "How deep, and what it costs with tax", described)


@_kept
def may_turn_up(rows: Sequence[tuple[str, Decimal, str]], currency: str) -> str:
    """(what, sum that it adds, chance in words) of what may turn up, likeliest first."""
    labels = [textwrap.fill(label, LABEL) for label, _, _ in rows]

    def draw(axes: Any) -> None:
        for index, (_, amount, chance) in enumerate(rows):
            axes.barh(index, float(amount), color="white", edgecolor=INK, hatch=HATCHES[1])
            _beside(axes, index, amount, f"+ {amount:,.0f}, {chance}")
        _down(axes, labels, max(1.0, *(float(amount) for _, amount, _ in rows)))
        axes.set_xlabel(f"{currency} more with tax, only if it is found")

    described = "; ".join(f"{label}: {amount:,.0f} more, {chance}" for label, amount, chance in rows)
    return with_text(
        _figure(6.8, 0.7 + _heights(labels), draw), "What may turn up, and what it adds with tax", described
    )


def _beside(axes: Any, row: int, end: Decimal, text: str, *, bold: bool = False) -> None:
    """What is said beside a bar that ends there."""
    axes.annotate(
        text,
        (float(end), row),
        xytext=(3, 0),
        textcoords="offset points",
        va="center",
        fontweight="bold" if bold else "normal",
    )


def _down(axes: Any, labels: Sequence[str], most: float) -> None:
    """Rows from the top down under their labels, with room beside the longest bar for what is said of it."""
    axes.set_yticks(range(len(labels)), labels)
    axes.invert_yaxis()
    axes.set_xlim(0, 1.75 * most)


def _heights(labels: Sequence[str]) -> float:
    """Inches that rows of labels take, by their lines."""
    return max(sum(0.12 + 0.15 * (1 + label.count("\n")) for label in labels), 0.5)


@_kept
def cost_by_scope(rows: Sequence[tuple[str, Decimal, Decimal, Decimal, bool]], currency: str) -> str:
    """Price, growth and comebacks of each scope, the recommended one marked."""

    def draw(axes: Any) -> None:
        for index, (_, *parts, _chosen) in enumerate(rows):
            left = 0.0
            for part, hatch, colour in zip(parts, ("", HATCHES[1], HATCHES[2]), (PALE, "white", "white"), strict=True):
                axes.barh(index, float(part), left=left, color=colour, edgecolor=INK, hatch=hatch)
                left += float(part)
            axes.annotate(f"{left:,.0f}", (left, index), xytext=(3, 0), textcoords="offset points", va="center")
        axes.set_yticks(range(len(rows)), [f"{'> ' if chosen else ''}{label}" for label, *_, chosen in rows])
        axes.invert_yaxis()
        axes.margins(x=0.15)
        axes.set_xlabel(f"{currency}: price (shaded), growth seen at teardown (striped), comebacks (dotted)")

    described = "; ".join(
        f"{label}: price {price:,.0f}, growth {growth:,.0f}, comebacks {comeback:,.0f}"
        + (", recommended" if chosen else "")
        for label, price, growth, comeback, chosen in rows
    )
    return with_text(_figure(6.8, 2.3, draw), "What each scope costs in the end", described)
