"""What is typed and not saved yet, at moments chosen at random: is any of it lost, is any of it saved twice?

A Chromium of its own works the page of a server of its own on the loopback address. Each moment is one of these, in
turn: the page is opened anew amid typing; the browser is killed amid typing, by a signal that cannot be caught, and
started again; the server is killed so at a moment about the press that saves, and started again; the line is down at
the press. What had stood in its field for half a second must be there again; in the end every note that was pressed
for stands in the job once, and in its order.

Usage: python bench/typed_moments.py [MOMENTS] [SEED]   (default 200, 1)
"""

from __future__ import annotations

import collections
import contextlib
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from selenium.webdriver.common.by import By

from tests.over_http import Server
from tests.pages import folder_with_case, new_chromium
from tests.test_web_kept import NOTE, line, notes, one, press, until, value

KINDS = ("reload", "reload", "browser", "server", "server", "server", "line")
STOOD = 0.5
"""Seconds after which a key must be on the disk."""
WORDS = "the pan was wet at the rear main and dry along both sides of it "


class Bench:
    """One browser that is killed and started again with the same profile, and one server with the same port."""

    def __init__(self, root: Path, rng: random.Random) -> None:
        self.root, self.rng, self.seen = root, rng, collections.Counter[str]()
        self.folder = folder_with_case(root)
        self.server = Server(self.folder, root / "state")
        self.server.listening()
        self.port, self.base, self.pressed = self.server.port, f"http://127.0.0.1:{self.server.port}", list[str]()
        self.start_browser()

    def start_browser(self) -> None:
        self.window = new_chromium(self.root / "profile")
        self.pid = int(self.window.capabilities["goog:processID"])

    def kill_browser(self) -> None:
        """All its processes at once, as by a dead battery; then what drives it."""
        parents = {}
        for stat in Path("/proc").glob("[0-9]*/stat"):
            with contextlib.suppress(OSError):
                parents[int(stat.parent.name)] = int(stat.read_text().rpartition(")")[2].split()[1])
        mine = {self.pid}
        while more := {pid for pid, parent in parents.items() if parent in mine} - mine:
            mine |= more
        for pid in sorted(mine):
            with contextlib.suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
        self.window.service.process.kill()
        self.window.service.process.wait(20)
        for name in ("SingletonLock", "SingletonSocket", "SingletonCookie"):
            (self.root / "profile" / name).unlink(missing_ok=True)

    def start_server(self) -> None:
        self.server = Server(self.folder, self.root / "state", port=self.port)
        self.server.listening()

    def typed(self, number: int) -> tuple[str, str]:
        """Type a note key by key; (what was typed, what of it had stood for a while at the end)."""
        self.window.get(self.base + NOTE)
        field = one(self.window, "#text")
        field.clear()
        whole = f"{number}: {WORDS}"[: self.rng.randint(8, 60)].strip()
        cut, stood = self.rng.randint(1, len(whole)), ""
        keys = []
        for start in range(0, cut, 3):
            field.send_keys(whole[start : min(start + 3, cut)])
            keys.append((time.monotonic(), whole[: min(start + 3, cut)]))
            time.sleep(self.rng.uniform(0, 0.05))
        time.sleep(self.rng.choice((0, 0.05, STOOD + 0.1)))
        now = time.monotonic()
        stood = next((text for at, text in reversed(keys) if now - at >= STOOD), "")
        return keys[-1][1], stood

    def put_back(self, typed: str, stood: str) -> None:
        """The field holds what was typed, but for keys of the last moment."""
        self.window.get(self.base + NOTE)
        if stood:
            until(self.window, lambda: value(self.window, "text"), 20)
        else:
            time.sleep(0.6)
        found = value(self.window, "text")
        assert typed.startswith(found) and len(found) >= len(stood), (typed, stood, found)
        self.seen["keys typed"] += len(typed)
        self.seen["keys of the last half second gone"] += len(typed) - len(found)
        if found:
            press(self.window, ".put-back button")
            until(self.window, lambda: not value(self.window, "text"))

    def moment(self, number: int) -> None:
        """One moment."""
        kind = KINDS[number % len(KINDS)]
        self.seen[kind] += 1
        typed, stood = self.typed(number)
        if kind == "reload":
            self.put_back(typed, stood)
        elif kind == "browser":
            self.kill_browser()
            self.start_browser()
            self.put_back(typed, stood)
        else:
            self.saved(kind, typed.strip())

    def saved(self, kind: str, typed: str) -> None:
        """Press amid a fault, and wait until the note stands in the job."""
        self.pressed.append(typed)
        if kind == "line":
            line(self.window, up=False)
            press(self.window, "form .buttons button")
            time.sleep(self.rng.uniform(0, 0.3))
            line(self.window, up=True)
        elif self.rng.random() < 0.3:
            self.server.kill()
            press(self.window, "form .buttons button")
            self.start_server()
        else:
            press(self.window, "form .buttons button")
            time.sleep(self.rng.uniform(0, 0.5))
            self.seen["saved before the server died"] += notes(self.folder)[-1:] == [typed]
            self.server.kill()
            self.start_server()
        if not self.window.find_elements(By.TAG_NAME, "main"):  # acknowledged, and the server died before the next page
            self.window.get(self.base + NOTE)
        until(self.window, lambda: not value(self.window, "text") and f": {typed}" in one(self.window, "main").text, 60)
        assert notes(self.folder) == self.pressed, (notes(self.folder)[-3:], self.pressed[-3:])


def main() -> int:
    """Print what was seen; a loss or a note that stands twice stops the run."""
    moments = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    rng = random.Random(int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    begun, root = time.perf_counter(), Path(tempfile.mkdtemp())
    bench = Bench(root, rng)
    try:
        for number in range(moments):
            bench.moment(number)
    finally:
        bench.window.quit()
        bench.server.kill()
        shutil.rmtree(root, ignore_errors=True)
    seen = ", ".join(f"{kind} {count}" for kind, count in bench.seen.items())
    print(
        f"{moments} moments in {time.perf_counter() - begun:.0f} s (load {os.getloadavg()[0]:.1f}): {seen}; "
        f"{len(bench.pressed)} notes pressed for, each saved once and none lost."
    )
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
