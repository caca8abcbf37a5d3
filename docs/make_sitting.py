"""One sitting of the interview as an animated picture, made by driving the real program in a terminal of 80 by 24.

    python docs/make_sitting.py [--out docs/pictures/sitting.svg] [--frames FOLDER]

The program runs in a pseudo-terminal, a terminal emulator keeps its screen, and every screen that is to be read becomes
a frame of one SVG file without script or outside resource. The frames follow each other by CSS; whoever asks his system
for less motion, and every viewer without animation, sees the last one, which stands still. Engine, customer and shop
are invented. `--frames` also writes each frame as a picture of its own, to be looked at.
"""

from __future__ import annotations

import argparse
import dataclasses
import html
import os
import re
import sys
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path

import pexpect
import pyte

COLUMNS, LINES = 80, 24
PROGRAM = [sys.executable, "-c", "from howdeep.cli.main import main; main()", "interview"]
JOB = "thorne.yaml"
QUESTION, END, MORE, TICKS = "^> $", "Enter = leave.*: $", "on, q = leave -- $", "Enter = not (?:noted|counted.): $"
BEGINS = (
    ("Engine .number or name.: $", "tarn-30"),
    ("name.*: $", "A. Thorne"),
    ("words: $", "it smokes blue and drinks oil"),
    ("sea level.*: $", ""),
)
"""(what stands before the cursor when the program waits, what is typed there), before the talk."""
SAID = {
    "The words sound like": "y",
    "works hard": "3",
    "ticking over, what colour": "2",
    "after a cold start": "3",
    "How much oil do you add": "4",
    "done to it last": "1",
    "the breather or the oil filler": "3",
    "since it was last overhauled": "3",
    "Take the breather off": "1",
    "Open the air cleaner": "1",
    "Which hold?": "a",
    "(Enter = not counted)": "6",
    "Sheet: cranking compression": "62 64 60 63 psi",
}
"""Words of a question -> what is typed; to every other question the customer does not know the answer."""
ASKS_WHY = "How much oil do you add"
"""The question at which the person asks why it is asked."""
CHECKS = 3
"""Checks made at the bench before the end."""
TYPING, PRESSED, READING, LAST = 0.09, 0.6, 2.8, 7.0
"""Seconds a key takes in a word, seconds that a single one stands, a screen that is read, and the last one."""
LETTER, ROW, EDGE, BAR, SIZE = 8.0, 18, 16, 34, 13.3
"""Width of a letter, height of a line, margin, height of the heading, size of the type, in pixels."""
INK, PAPER, SOFT, STRONG = "#1d2320", "#fbfaf6", "#59625d", "#7a3412"


@dataclasses.dataclass(frozen=True, slots=True)
class Frame:
    """One screen and how long it stands."""

    rows: tuple[str, ...]
    cursor: tuple[int, int] | None
    """(row, column) of the cursor; None where the program has ended."""
    seconds: float


class Terminal:
    """The real program in a pseudo-terminal, and the screen that it makes."""

    def __init__(self, folder: Path) -> None:
        self.screen = pyte.Screen(COLUMNS, LINES)
        self.stream = pyte.Stream(self.screen)
        self.child = pexpect.spawn(
            PROGRAM[0],
            [*PROGRAM[1:], JOB],
            cwd=str(folder),
            encoding="utf-8",
            timeout=60,
            dimensions=(LINES, COLUMNS),
            env={**os.environ, "NO_COLOR": "1", "TERM": "xterm"},
        )

    def until(self, *patterns: str) -> str:
        """Read until one of the patterns stands before the cursor; which."""
        while True:
            before = self.screen.display[self.screen.cursor.y][: self.screen.cursor.x]
            for pattern in patterns:
                if re.search(pattern, before):
                    return pattern
            try:
                self.stream.feed(self.child.read_nonblocking(4096, 30))
            except pexpect.TIMEOUT:
                raise SystemExit(
                    "the program waits at something unforeseen:\n" + "\n".join(self.screen.display)
                ) from None

    def type(self, key: str) -> None:
        """Press a key and read its echo."""
        self.child.send(key)
        place = self.screen.cursor.x
        while self.screen.cursor.x == place:
            self.stream.feed(self.child.read_nonblocking(16, 10))

    def leave(self) -> None:
        """Read to the end."""
        while True:
            try:
                self.stream.feed(self.child.read_nonblocking(4096, 60))
            except pexpect.EOF:
                return

    def frame(self, seconds: float, *, ended: bool = False) -> Frame:
        return Frame(
            tuple(line.rstrip() for line in self.screen.display),
            None if ended else (self.screen.cursor.y, self.screen.cursor.x),
            seconds,
        )


def sitting(folder: Path) -> Iterator[Frame]:
    """The screens of one sitting, from the first question to the answer after some checks, with every key typed."""
    terminal = Terminal(folder)
    for waits_at, typed in BEGINS:
        terminal.until(waits_at)
        yield from _typed(terminal, typed)
    bench, made, asked_why = False, 0, False
    while True:
        found = terminal.until(QUESTION, END, MORE, TICKS)
        card = " ".join(terminal.screen.display).split("-- ")[-1]
        if found == MORE:
            typed = ""
        elif found == END:
            typed, bench = ("", bench) if bench else ("g", True)
            if not typed:
                break
        elif bench and found == QUESTION and made == CHECKS:
            typed = "e"
        elif ASKS_WHY in card and not asked_why:
            typed, asked_why = "w", True
        else:
            card = card.rsplit("min of labour", 1)[0] if asked_why else card
            typed = next((answer for words, answer in reversed(SAID.items()) if words in card), "d")
            made += bench and found == QUESTION
        yield from _typed(terminal, typed)
    yield from _typed(terminal, "")
    terminal.leave()
    yield terminal.frame(LAST, ended=True)


def _typed(terminal: Terminal, typed: str) -> Iterator[Frame]:
    """The screen as it is read, every key, and the key that sends them."""
    yield terminal.frame(READING)
    for key in typed:
        terminal.type(key)
        yield terminal.frame(TYPING if len(typed) > 3 else PRESSED)
    terminal.child.send("\r")
    terminal.stream.feed(terminal.child.read_nonblocking(2, 10))


def picture(frames: Sequence[Frame], only: int | None = None) -> str:
    """The frames as one SVG file: a strip that is moved behind a window, one frame at a time; or one frame alone."""
    width, height = int(COLUMNS * LETTER + 2 * EDGE), LINES * ROW + BAR + EDGE
    inside = LINES * ROW + 6
    lines = {
        text: f"l{number}"
        for number, text in enumerate(dict.fromkeys(row for frame in frames for row in frame.rows if row))
    }
    chosen = range(len(frames)) if only is None else [only]
    strip = "".join(_frame(frames[number], lines, place * inside) for place, number in enumerate(chosen))
    used = {row for number in chosen for row in frames[number].rows}
    kept = "".join(_line(text, name) for text, name in lines.items() if text in used)
    still = (len(chosen) - 1) * inside
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
        f'role="img" aria-labelledby="t d"><title id="t">One sitting of howdeep interview</title>'
        f'<desc id="d">{html.escape(_told(frames))}</desc><style>'
        f'text{{font:{SIZE}px ui-monospace,"DejaVu Sans Mono",Menlo,Consolas,"Liberation Mono",monospace;fill:{INK};'
        f"white-space:pre}}.s{{fill:{SOFT}}}.c{{fill:{STRONG};font-weight:bold}}"
        f".f{{transform:translateY(-{still}px){_moves(frames, inside) if only is None else '}'}</style>"
        f'<rect x=".5" y=".5" width="{width - 1}" height="{height - 1}" rx="8" fill="{PAPER}" stroke="{SOFT}"/>'
        f'<text x="{EDGE}" y="21" class="s">$ howdeep interview {JOB}</text>'
        f'<path d="M0 {BAR - 4.5}H{width}" stroke="{SOFT}" stroke-opacity=".4"/><defs>{kept}</defs>'
        f'<svg x="{EDGE}" y="{BAR}" width="{width - EDGE}" height="{inside}"><g class="f">{strip}</g></svg></svg>\n'
    )


def _moves(frames: Sequence[Frame], inside: int) -> str:
    """The rest of the style: the strip moves by one frame at a time, and not at all for who asks for less motion."""
    whole = sum(frame.seconds for frame in frames)
    at, steps = 0.0, []
    for number, frame in enumerate(frames):
        steps.append(f"{100 * at / whole:.3f}%{{transform:translateY(-{number * inside}px)}}")
        at += frame.seconds
    return (
        f";animation:m {whole:.1f}s steps(1,end) infinite}}@keyframes m{{{''.join(steps)}}}"
        "@media(prefers-reduced-motion:reduce){.f{animation:none}}@media print{.f{animation:none}}"
    )


def _frame(frame: Frame, lines: dict[str, str], top: int) -> str:
    rows = "".join(
        f'<use href="#{lines[row]}" y="{top + (number + 1) * ROW - 5}"/>'
        for number, row in enumerate(frame.rows)
        if row
    )
    if frame.cursor is None:
        return rows
    row, column = frame.cursor
    return (
        f'{rows}\n<rect x="{column * LETTER:g}" y="{top + row * ROW + 2}" width="{LETTER:g}" height="{ROW - 3}" '
        f'fill="{INK}" fill-opacity=".55"/>'
    )


def _line(text: str, name: str) -> str:
    kind = ' class="c"' if text.startswith("!") else ' class="s"' if text.startswith(("--", "==")) else ""
    return (
        f'<text id="{name}"{kind} textLength="{len(text) * LETTER:g}" xml:space="preserve">{html.escape(text)}</text>'
    )


def _told(frames: Sequence[Frame]) -> str:
    """The sitting in words: the last screen, for who cannot see it."""
    return "A sitting in a terminal; its last screen reads: " + " ".join(
        " ".join(row.split()) for row in frames[-1].rows if row
    )


def main() -> None:
    """Record one sitting."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--out", type=Path, default=Path(__file__).with_name("pictures") / "sitting.svg")
    parser.add_argument("--frames", type=Path, help="write each frame as a picture of its own into this folder")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        frames = list(sitting(Path(folder)))
    options.out.write_text(picture(frames), encoding="utf-8")
    if options.frames:
        options.frames.mkdir(exist_ok=True)
        for number in range(len(frames)):
            (options.frames / f"{number:03}.svg").write_text(picture(frames, number), encoding="utf-8")
    print(
        f"{options.out}: {len(frames)} frames, {sum(frame.seconds for frame in frames):.0f} s, "
        f"{options.out.stat().st_size / 1000:.0f} kB"
    )


if __name__ == "__main__":
    main()
