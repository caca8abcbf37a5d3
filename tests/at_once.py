"""Several steps at the same time, each in a thread of its own."""

import threading


def at_once(*steps, seconds=120.0):
    """Take all steps together and wait until each has ended, so many seconds for one at the most."""
    threads = [threading.Thread(target=step, daemon=True) for step in steps]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(seconds)
        assert not thread.is_alive(), "a step did not end"
