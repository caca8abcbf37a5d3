"""Leaving the page on one device: it lets nobody in from then on, and nothing typed stays on it."""

from __future__ import annotations

from flask import Flask, g, make_response, redirect, render_template, request
from flask.typing import ResponseReturnValue

from .guard import DEVICE, PASS, Again
from .passes import Passes


def add_leaving(app: Flask, token: str, passes: Passes | None, again: Again) -> None:
    """Add the route to the application. Where nobody has to be let in there is nothing to leave."""
    app.jinja_env.globals["can_leave"] = bool(token)

    def page(said: str = "", status: int = 200) -> ResponseReturnValue:
        return make_response(render_template("leave.html", said=said, device=g.device), status)

    @app.route("/leave", methods=["GET", "POST"])
    def leave() -> ResponseReturnValue:
        if not token:
            return redirect("/", 303)
        if request.method == "GET":
            return page()
        if g.device and passes is not None:  # a pass is used once: what was let in by it could never come back by it
            passes.revoke(g.device)
        g.let_in = False
        response = make_response(render_template("enter.html", said="You have left.", forget=True))
        for cookie in (PASS, DEVICE):
            response.delete_cookie(cookie, httponly=True, samesite="Strict")
        return response

    again["leave"] = lambda: page("This form had expired. Press the button again.", 403)


__all__ = ["add_leaving"]
