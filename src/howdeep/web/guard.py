"""What is let in: known hosts, forms from this page alone, small requests, and a token where others can reach it."""

from __future__ import annotations

import hmac
import secrets
from hashlib import sha256
from urllib.parse import urlsplit

from flask import Flask, Response, abort, g, redirect, render_template, request

MAX_REQUEST = 256 * 1024
SESSION = "howdeep_session"
PASS = "howdeep_pass"
HEADERS = {
    "Content-Security-Policy": "default-src 'none'; style-src 'self'; img-src 'self' data:; form-action 'self'; "
                               "base-uri 'none'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
}


def guard(app: Flask, *, hosts: frozenset[str], token: str) -> None:
    """Put the checks before every request of the app. `hosts` are the host names it answers to ('' for any)."""
    secret = secrets.token_bytes(32)
    app.config["MAX_CONTENT_LENGTH"] = MAX_REQUEST
    app.config["MAX_FORM_MEMORY_SIZE"] = MAX_REQUEST
    app.config["MAX_FORM_PARTS"] = 1000

    def form_token() -> str:
        return hmac.new(secret, g.session.encode(), sha256).hexdigest()

    def pass_value() -> str:
        return hmac.new(secret, b"pass" + token.encode(), sha256).hexdigest()

    @app.before_request
    def check() -> Response | None:
        name = urlsplit(f"//{request.host}").hostname or ""
        if "" not in hosts and name not in hosts:
            abort(421, "This page does not answer to that host name.")
        g.session = request.cookies.get(SESSION, "")
        g.new_session = len(g.session) != 43
        if g.new_session:
            g.session = secrets.token_urlsafe(32)
        if request.method not in ("GET", "HEAD", "POST"):
            abort(405)
        if request.method == "POST":
            origin = request.headers.get("Origin")
            if origin is not None and urlsplit(origin).netloc != request.host:
                abort(403, "This form did not come from this page.")
            if request.headers.get("Sec-Fetch-Site", "same-origin") not in ("same-origin", "none"):
                abort(403, "This form did not come from this page.")
            if not hmac.compare_digest(request.form.get("form_token", ""), form_token()):
                abort(403, "This form is too old or did not come from this page. Go back, load it anew and try again.")
        entered = hmac.compare_digest(request.cookies.get(PASS, ""), pass_value())
        if token and request.endpoint not in ("enter", "static") and not entered:
            return redirect("/enter", 303)  # type: ignore[return-value]
        return None

    @app.after_request
    def finish(response: Response) -> Response:
        for header, value in HEADERS.items():
            response.headers.setdefault(header, value)
        if request.endpoint == "static":
            response.headers["Cache-Control"] = "max-age=300"
        if getattr(g, "new_session", False):
            response.set_cookie(SESSION, g.session, httponly=True, samesite="Strict")
        response.headers.pop("Server", None)
        return response

    @app.route("/enter", methods=["GET", "POST"])
    def enter():
        wrong = False
        if request.method == "POST" and token:
            if hmac.compare_digest(request.form.get("token", "").encode(), token.encode()):
                response = redirect("/", 303)
                response.set_cookie(PASS, pass_value(), httponly=True, samesite="Strict")
                return response
            wrong = True
        return render_template("enter.html", wrong=wrong), 403 if wrong else 200

    app.jinja_env.globals["form_token"] = form_token
