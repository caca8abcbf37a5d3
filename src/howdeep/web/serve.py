"""Serving the page with a production server, on this machine alone unless told otherwise."""

from __future__ import annotations

import ipaddress
import os
import sys
from pathlib import Path

from ..errors import Fault, HowdeepError
from ..session import open_shop
from .app import create_app
from .secret import kept_secret

THREADS = 8


def is_loopback(host: str) -> bool:
    """Whether an address can be reached from this machine alone."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def serve(folder: Path, *, host: str, port: int, token: str, rules: Path | None, prices: Path | None) -> None:
    """Serve until stopped. Raises HowdeepError where the folder or the port cannot be used, or a token is missing."""
    import logging

    from waitress.server import create_server

    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # a full queue is no news to the shop
    if not folder.is_dir():
        raise HowdeepError(Fault(str(folder), 0, 0, "there is no such folder"))
    local = is_loopback(host)
    if not local and len(token) < 12:
        raise HowdeepError(Fault("", 0, 0, f"listening on {host} lets others reach customers' names and numbers",
                                 "give --token (12 characters or more), or leave --host out"))
    if not os.access(folder, os.W_OK):
        print(f"howdeep: {folder}: cannot be written to; answers will not be saved", file=sys.stderr)
    shop = open_shop(rules, prices, folder / "any.yaml")
    hosts = frozenset({"localhost", "127.0.0.1", "::1", host}) if local else frozenset({""})
    secret, why = kept_secret()
    if why:
        print(f"howdeep: {why}: forms that are open now will ask to be saved again after a restart", file=sys.stderr)
    app = create_app(folder, shop, hosts=hosts, token="" if local and not token else token, secret=secret,
                     prices=prices)
    try:
        server = create_server(app, host=host, port=port, threads=THREADS, ident=None, max_request_body_size=1_000_000,
                               channel_timeout=30, connection_limit=200)
    except OSError as error:
        raise HowdeepError(Fault("", 0, 0, f"port {port} on {host} cannot be used: {error.strerror or error}",
                                 "try another --port")) from None
    if not local:
        print(f"howdeep: warning: others on the network can reach this page at {host}; it asks for the token, but the "
              "connection is not encrypted", file=sys.stderr)
    print(f"Jobs in {folder.resolve()} at http://{'localhost' if local else host}:{port}/   (Ctrl-C stops it)",
          flush=True)
    try:
        server.run()
    except KeyboardInterrupt:
        server.close()
