"""The route of the shop's settings: letterhead, who signs, altitude, units, floors of a promise, the tools it owns."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import Flask, redirect, render_template, request

from ..assessment.session import Shop
from ..errors import Fault, HowdeepError
from ..files.whole import locked
from ..job.write import clean_text
from ..model.shop import ShopSettings
from ..shop.keys import LETTERHEAD, OWN, place_of, plain_value
from ..shop.read import load_shop
from ..shop.write import put_settings
from .forms import typed_text, with_point, with_unit
from .guard import Again
from .live import LiveShop, look_again
from .merge import WAS
from .price_saving import refuse_odd
from .saving import EXPIRED, fault_lines

FIELDS = (*LETTERHEAD, *OWN)
MOST = {"address": 400, "guarantee": 280, "terms": 280}
UNIT_WORDS = {
    "": "as they were typed and as the sheet has them",
    "inch": "inch: in, psi, ft-lb, degrees F",
    "metric": "metric: mm, bar, Nm, degrees C",
}
CLASHED = "Somebody else changed the same meanwhile; nothing is saved yet. Save again to put yours in its place."
TOOL = "tools."
"""`tools.NAME` is ticked where the shop owns the tool."""


def add_settings(app: Flask, shop: Shop, live: LiveShop, again: Again) -> None:
    """Add the routes to the application."""

    def settings_page(faults: tuple[str, ...] = (), clashes: Mapping[str, str] = {}):
        stands = standing_settings(shop)
        typed = request.form if request.method == "POST" else {}
        shown = {name: typed.get(name, stands[name]) if typed else stands[name] for name in FIELDS}
        owned = {
            name: f"{TOOL}{name}" in typed if typed else stands[f"{TOOL}{name}"] == "yes"
            for name in shop.knowledge.tools
        }
        return render_template(
            "shop.html",
            shown=shown,
            stands=stands,
            owned=owned,
            faults=faults,
            clashes=clashes,
            file=live.own_settings().name,
            unit_words=UNIT_WORDS,
            form=typed,
            floors=shop.prices,
        )

    @app.route("/shop", methods=["GET", "POST"])
    def shop_settings():
        if request.method == "GET":
            return settings_page()
        path = live.own_settings()
        try:
            refuse_odd(path)
            with locked(path):
                now = load_shop(path if path.exists() else None, shop.knowledge)
                changes, clashes = _changes(shop, now, request.form)
                if changes and not clashes:
                    put_settings(path, shop.knowledge, changes)
            look_again()
            if clashes:
                return settings_page((CLASHED,), clashes), 409
        except HowdeepError as error:
            return settings_page(fault_lines(error)), 422
        return redirect("/shop?saved=1", 303)

    again["shop_settings"] = lambda: settings_page((EXPIRED,))


def standing_settings(shop: Shop, settings: ShopSettings | None = None) -> dict[str, str]:
    """Field of the form -> what stands for it; a tool that nothing is said of is owned."""
    now = settings or shop.settings
    letterhead = now.letterhead
    found = {name: _as_typed(name, getattr(letterhead, name)) if letterhead else "" for name in LETTERHEAD}
    for name in OWN:
        value = getattr(now, name)
        found[name] = "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)
    return found | {f"{TOOL}{name}": now.tools.get(name, "yes") for name in shop.knowledge.tools}


def _changes(shop: Shop, now: ShopSettings, form: Mapping[str, str]) -> tuple[dict[str, Any], dict[str, str]]:
    """(plain values to put, field -> what somebody else has put meanwhile). Raises HowdeepError for a floor that is
    no chance."""
    stands, changes, clashes = standing_settings(shop, now), {}, {}
    faults: list[Fault] = []
    for name, standing in stands.items():
        tool = name.startswith(TOOL)
        if (WAS if tool else "") + name not in form:
            continue
        text = ("yes" if name in form else "no") if tool else _typed(name, form)
        was = _as_typed(name, form.get(WAS + name, standing))
        if text in (was, standing):
            continue
        if standing != was:
            clashes[name] = standing or "nothing"
            continue
        place = name if tool else place_of(shop.knowledge, name)
        assert place is not None
        try:
            changes[place] = plain_value(place, text)
        except HowdeepError as error:
            faults += error.faults
    if faults:
        raise HowdeepError(faults)
    return changes, clashes


def _typed(name: str, form: Mapping[str, str]) -> str:
    text = _as_typed(name, typed_text(form, name))
    return with_unit(with_point(text), typed_text(form, "altitude.unit")) if name == "altitude" else text


def _as_typed(name: str, text: str) -> str:
    """A text as its field holds it: an address in lines, anything else in one."""
    lines = [" ".join(line.split()) for line in clean_text(text).split("\n")]
    return ("\n" if name == "address" else " ").join(filter(None, lines))[: MOST.get(name, 200)]
