"""How deep a job goes, as one small picture: five steps down into the engine, readable in black and white."""

from __future__ import annotations

from xml.sax.saxutils import escape

STEPS = (
    ("outside", "Outside"),
    ("tune_up", "Tune-up"),
    ("top_end", "Top end"),
    ("refresh", "Refresh"),
    ("rebuild", "Rebuild"),
)
WIDE, HIGH, IN = 240, 21, 14
"""Width of the picture, height of a step, and how far each stands in from the one above."""


def depth_picture(rung: str, *, only: bool) -> str:
    """The ladder as SVG, the top of the engine above: the job's step black with white letters and named, what its
    package holds besides hatched, the rest white. Empty for another engine, which has no depth."""
    names = [name for name, _ in STEPS]
    if rung not in names:
        return ""
    here = names.index(rung)
    told = f"Depth of the work: {STEPS[here][1].lower()}, step {here + 1} of {len(STEPS)}" + (
        ", only what cures it." if only else ", with what belongs to the steps above it." if here else "."
    )
    parts = [
        f'<svg class="depth" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE} {HIGH * len(STEPS) + 2}" '
        f'role="img" aria-labelledby="depth-t"><title id="depth-t">{escape(told)}</title>',
        '<defs><pattern id="depth-h" width="6" height="6" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><line x1="0" y1="0" x2="0" y2="6" stroke="#111" stroke-width="1"/>'
        "</pattern></defs>",
    ]
    for place, (_, label) in enumerate(STEPS):
        left, top = 1 + IN * place, 1 + HIGH * place
        fill = "#111" if place == here else "url(#depth-h)" if place < here and not only else "#fff"
        parts.append(
            f'<rect x="{left}" y="{top}" width="{WIDE - 2 - left}" height="{HIGH - 2}" fill="{fill}" stroke="#111"/>'
        )
        if fill.startswith("url"):  # letters on hatching need a ground of their own
            parts.append(f'<rect x="{left + 5}" y="{top + 2}" width="64" height="{HIGH - 6}" fill="#fff"/>')
        shown = f"{label}: this job" if place == here else label
        parts.append(
            f'<text x="{left + 8}" y="{top + HIGH - 7}" font-size="13" '
            f'font-weight="{"bold" if place == here else "normal"}" '
            f'fill="{"#fff" if place == here else "#111"}">{shown}</text>'
        )
    return "".join((*parts, "</svg>"))


def depth_line(rung: str, *, only: bool) -> str:
    """The same in plain characters: 'outside > tune-up > [TOP END] > refresh > rebuild'."""
    if rung not in dict(STEPS):
        return ""
    return " > ".join(f"[{label.upper()}]" if name == rung else label.lower() for name, label in STEPS) + (
        " (only what cures it)" if only else ""
    )
