"""The routes of passes: made for a named device and shown once, listed, revoked; on the machine itself alone."""

from __future__ import annotations

from flask import Flask, abort, redirect, render_template, request

from ..errors import HowdeepError
from .address import qr_address
from .guard import Again, is_here
from .passes import Passes
from .saving import EXPIRED, fault_lines

NOT_HERE = "Passes are made and revoked on the machine itself, where the page was started."


def add_devices(app: Flask, passes: Passes | None, address: str, again: Again) -> None:
    """Add the routes to the application; without `passes` the page says how others can be let in."""
    app.jinja_env.globals["lets_devices_in"] = passes is not None

    def page(faults: tuple[str, ...] = (), key: str = "", name: str = ""):
        whole = f"{address or request.host_url.rstrip('/')}/pass/{key}" if key else ""
        return render_template(
            "devices.html",
            faults=faults,
            form=request.form,
            key=key,
            of=name,
            whole=whole,
            picture=qr_address(whole) if whole else "",
            address=address,
            known=passes.all() if passes is not None else None,
        )

    @app.route("/devices", methods=["GET", "POST"])
    def devices():
        if not is_here():
            abort(403, NOT_HERE)
        if request.method == "GET" or passes is None:
            return page()
        name = " ".join(request.form.get("device", "").split())
        try:
            return page(key=passes.make(name), name=name)
        except HowdeepError as error:
            return page(fault_lines(error)), 422

    @app.post("/devices/revoke")
    def revoke():
        if not is_here():
            abort(403, NOT_HERE)
        if passes is not None:
            try:
                passes.revoke(request.form.get("device", ""))
            except HowdeepError as error:
                return page(fault_lines(error)), 422
        return redirect("/devices", 303)

    again.update({"devices": lambda: page((EXPIRED,)), "revoke": lambda: page((EXPIRED,))})


__all__ = ["add_devices"]
