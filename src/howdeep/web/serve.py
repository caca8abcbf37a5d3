"""Serving the page with a production server, on this machine alone unless told otherwise."""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from flask import Flask, Response

from ..assessment.session import open_shop
from ..errors import Fault, HowdeepError
from .address import address_for_others, is_loopback, qr_text
from .app import create_app
from .guard import LARGER
from .memory import Collector, Trimmer
from .passes import Passes
from .reckoning import MOST, Reckoners, cores
from .secret import kept_secret, state_folder
from .sends import Sends

THREADS = 8
LOOKS = 0.5
"""Seconds after which the server looks whether it is to stop, where nobody asks it anything."""


def serve(folder: Path, *, host: str, port: int, token: str, rules: Path | None, prices: Path | None) -> None:
    """Serve until stopped. Raises HowdeepError where the folder or the port cannot be used, or a token is missing."""
    import logging

    from waitress import wasyncore
    from waitress.server import create_server

    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # a full queue is no news to the shop
    if not folder.is_dir():
        raise HowdeepError(Fault(str(folder), 0, 0, "there is no such folder"))
    local = is_loopback(host)
    if not local and len(token) < 12:
        raise HowdeepError(
            Fault(
                "",
                0,
                0,
                f"listening on {host} lets others reach customers' names and numbers",
                "give --token (12 characters or more), or leave --host out",
            )
        )
    if not os.access(folder, os.W_OK):
        print(f"howdeep: {folder}: cannot be written to; answers will not be saved", file=sys.stderr)
    shop = open_shop(rules, prices, folder / "any.yaml")
    hosts = frozenset({"localhost", "127.0.0.1", "::1", host}) if local else frozenset({""})
    secret, why = kept_secret()
    if why:
        print(f"howdeep: {why}: forms that are open now will ask to be saved again after a restart", file=sys.stderr)
    address = "" if local else address_for_others(host, port)
    count = cores()
    reckoners = Reckoners(min(count, MOST) if count > 1 else 0)
    app = create_app(
        folder,
        shop,
        hosts=hosts,
        token=token,
        secret=secret,
        prices=prices,
        address=address,
        passes=Passes(state_folder(), folder) if token else None,
        reckon=reckoners,
        sends=Sends(state_folder(), folder),
    )
    _tidied(app, Trimmer(), Collector())
    app.config["JOB_BOOK"].open()
    app.jinja_env.get_template("index.html")
    lines: dict[int, Any] = {}
    try:
        server = create_server(
            app,
            map=lines,
            host=host,
            port=port,
            threads=THREADS,
            ident=None,
            channel_timeout=30,
            connection_limit=200,
            max_request_body_size=max(LARGER.values()),
        )
    except OSError as error:
        raise HowdeepError(
            Fault("", 0, 0, f"port {port} on {host} cannot be used: {error.strerror or error}", "try another --port")
        ) from None
    with _interrupted() as stop:
        try:
            _say(folder, host, port, local, address)
            while not stop.is_set():
                wasyncore.loop(timeout=LOOKS, use_poll=server.adj.asyncore_use_poll, map=lines, count=1)
            server.task_dispatcher.shutdown()
        finally:
            reckoners.end()


@contextlib.contextmanager
def _interrupted() -> Iterator[threading.Event]:
    """Set by Ctrl-C. An exception in its place would be lost where it comes while something is being thrown away."""
    stop = threading.Event()
    before = signal.signal(signal.SIGINT, lambda number, frame: stop.set())
    try:
        yield stop
    finally:
        signal.signal(signal.SIGINT, before)


def _say(folder: Path, host: str, port: int, local: bool, address: str) -> None:
    """Where the page is."""
    if not local:
        print(
            f"howdeep: warning: others on the network can reach this page at {host}; it asks for the token or a "
            "pass, but the connection is not encrypted",
            file=sys.stderr,
        )
    print(
        f"Jobs in {folder.resolve()} at http://{f'[{host}]' if ':' in host else 'localhost' if local else host}"
        f":{port}/   (Ctrl-C stops it)",
        flush=True,
    )
    if address:
        _show(address)


def _tidied(app: Flask, trim: Trimmer, collect: Collector) -> None:
    """Memory is seen to when an answer was sent, so that nobody waits for it."""

    def after(response: Response) -> Response:
        response.call_on_close(collect)
        response.call_on_close(trim)
        return response

    app.after_request(after)


def _show(address: str) -> None:
    """The address for other devices, and its picture for a camera where the terminal can show it."""
    print(
        f"\nFrom another device: {address}/ and the token. A pass for one device: open the page on this machine, "
        "Devices."
    )
    with contextlib.suppress(UnicodeEncodeError):
        print(qr_text(f"{address}/"), flush=True)
