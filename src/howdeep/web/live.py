"""The shop as its price list and its settings stand now: both may change while the page runs, by its own forms, in a
terminal or by hand."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import cast

from flask import Flask, g
from werkzeug.local import LocalProxy

from ..assessment.session import Shop, read_again
from ..knowledge.where import shipped_rules
from ..pricing.read import example_prices, find_prices
from ..shop.read import NAME, find_shop

State = tuple[tuple[str, int, int, int], ...]


class LiveShop:
    """What one shop works with, read anew whenever one of its two files changed."""

    def __init__(self, shop: Shop, folder: Path, prices: Path | None = None):
        """`prices` is a list named when the page was started; without one the usual places are looked at."""
        self.folder, self.named, self.lock = folder, prices, threading.Lock()
        self.shop, self.state = shop, self._state()

    def now(self) -> Shop:
        """The shop as its files are. Raises HowdeepError with every fault of a file that cannot be used."""
        with self.lock:
            state = self._state()
            if state != self.state:
                self.shop = read_again(self.shop, self.prices_in_use(), find_shop(self.folder))
                self.state = state
            return self.shop

    def prices_in_use(self) -> Path:
        """The price list that quotes are made from: the shop's own or the example."""
        return find_prices(self.named, self.folder)

    def own_prices(self) -> Path:
        """The file in which the shop's own prices stand, or would stand."""
        path = self.prices_in_use()
        shipped = path == example_prices() or shipped_rules().resolve() in path.resolve().parents
        return self.folder / "prices.yaml" if shipped else path

    def begun_prices(self) -> Path | None:
        """The file of the shop's own list; None where it has none yet."""
        path = self.own_prices()
        return path if path == self.prices_in_use() else None

    def own_settings(self) -> Path:
        """The file in which the shop's settings stand, or would stand."""
        return find_shop(self.folder) or self.folder / NAME

    def _state(self) -> State:
        found = []
        for path in (self.prices_in_use(), find_shop(self.folder)):
            try:
                entry = path.stat() if path is not None else None
            except OSError:
                entry = None
            found.append((str(path), *((entry.st_mtime_ns, entry.st_size, entry.st_ino) if entry else (0, 0, 0))))
        return tuple(found)


def for_each_request(app: Flask, live: LiveShop) -> Shop:
    """What stands for the shop in every route: within one request always the same one."""

    def current() -> Shop:
        if "shop" not in g:
            g.shop = live.now()
        return g.shop

    app.jinja_env.globals["knowledge"] = LocalProxy(lambda: current().knowledge)
    return cast(Shop, LocalProxy(current))  # it stands for one, and has all that a shop has


def look_again() -> None:
    """What was saved within this request is seen by the rest of it."""
    g.pop("shop", None)


def shop_now(shop: Shop | LocalProxy[Shop]) -> Shop:
    """The shop itself of this request, to be kept beyond it."""
    return shop._get_current_object() if isinstance(shop, LocalProxy) else shop
