"""How soon the page is there: the first page after the server listens, and a list of many jobs once its index exists.

Usage: python bench/page_start.py [JOBS]   (default 5000)
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from tests.over_http import Client, Server, copies_of_case
from tests.pages import CASE


def timed(device: Client, path: str) -> float:
    """Seconds of one page."""
    begun = time.perf_counter()
    status, _, _ = device.send("GET", path)
    assert status == 200, status
    return time.perf_counter() - begun


def main() -> int:
    """Print the figures."""
    jobs = int(sys.argv[1]) if len(sys.argv) > 1 else 5000
    with tempfile.TemporaryDirectory() as kept:
        few = copies_of_case(Path(kept) / "few", ["one"])
        many = copies_of_case(Path(kept) / "many", ["job-0"])
        for number in range(1, jobs):
            shutil.copyfile(CASE, many / f"job-{number}.yaml")
        for title, folder in (("one job", few), (f"{jobs} jobs, no index yet", many), (f"{jobs} jobs, indexed", many)):
            with Server(folder, Path(kept) / "state") as server:
                listening, device = server.listening(), Client(server.port)
                first, again = timed(device, "/"), min(timed(device, "/") for _ in range(5))
                found = min(timed(device, "/?search=hill+farm+ring") for _ in range(5))
                print(
                    f"{title}: listens after {1000 * listening:.0f} ms, first page {1000 * first:.0f} ms later, "
                    f"again {1000 * again:.0f} ms, searched {1000 * found:.0f} ms"
                )
                device.close()
    print(f"load of the machine {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
