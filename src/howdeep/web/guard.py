"""What is let in: known hosts, forms from this page alone, small requests, and a token where others can reach it."""

from __future__ import annotations

import hmac
import math
import re
import secrets
from collections.abc import Callable
from hashlib import sha256
from typing import Any
from urllib.parse import urlsplit

from flask import Flask, Response, abort, g, make_response, redirect, render_template, request
from flask.typing import ResponseReturnValue

from .address import is_loopback
from .guesses import Guesses
from .passes import Passes

MAX_REQUEST = 256 * 1024
LARGER = {"keeping": 24 * 1024 * 1024, "price_table": 4_200_000}
"""Endpoint that takes a file -> most bytes of its request; only of somebody who was let in."""
SESSION = "howdeep_session"
PASS = "howdeep_pass"
DEVICE = "howdeep_device"
DEVICE_SECONDS = 365 * 24 * 3600
OPEN = frozenset({"enter", "use_pass", "static"})
"""Endpoints for which nobody must have been let in."""
KEPT = "kept."
"""What was typed into a form that could not be taken before the token was entered, carried along under these names."""
SAVING = re.compile(
    r"(?:/new|/engines|/engine/[^/?#\\]+/[a-z_]+|/prices(?:/[0-9]+)?|/shop"
    r"|/job/[^/?#\\]+/(?:answer|heard|readings|open|close|place|waive|prices|engine|note|promises|approve|number))"
    r"(?:\?save=[0-9a-f]{8,32})?"
)
"""Forms whose fields are carried along so, with the number of the form."""
SCRIPT = "Howdeep-Script"
"""Header of a form sent by the page's own script: it is told that a form was saved, and the address that follows, and
goes there itself."""
NEXT = "Howdeep-Next"
HEADERS = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; connect-src 'self'; style-src 'self'; "
    "img-src 'self' data:; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
}
Again = dict[str, Callable[..., Any]]
"""Endpoint -> the function that shows its form again with what was typed, and changes nothing."""


def guard(
    app: Flask,
    *,
    hosts: frozenset[str],
    token: str,
    secret: bytes,
    again: Again,
    guesses: Guesses,
    passes: Passes | None = None,
) -> None:
    """Put the checks before every request of the app. `hosts` are the host names it answers to ('' for any). `g.device`
    is the name of the device where it was let in by a pass of its own."""
    app.config["MAX_CONTENT_LENGTH"] = MAX_REQUEST
    app.config["MAX_FORM_MEMORY_SIZE"] = MAX_REQUEST
    app.config["MAX_FORM_PARTS"] = 1000

    def revoked() -> bool:
        """Whether the device was let in by a pass that is none any more: then it forgets what was typed on it."""
        return passes is not None and bool(request.cookies.get(DEVICE, "")) and not g.device

    def form_token() -> str:
        return hmac.new(secret, g.session.encode(), sha256).hexdigest()

    def pass_value() -> str:
        return hmac.new(secret, b"pass" + token.encode(), sha256).hexdigest()

    @app.before_request
    def check() -> ResponseReturnValue | None:
        name = _split(f"//{request.host}").hostname or ""
        if "" not in hosts and name not in hosts:
            abort(421, "This page does not answer to that host name.")
        try:
            _ = request.args
        except UnicodeDecodeError:
            abort(400, "The address holds bytes that are no text.")
        g.session = request.cookies.get(SESSION, "")
        g.new_session = not re.fullmatch(r"[A-Za-z0-9_-]{43}", g.session)
        if g.new_session:
            g.session = secrets.token_urlsafe(32)
        if request.method not in ("GET", "HEAD", "POST"):
            abort(405)
        g.device = passes.name_of(request.cookies.get(DEVICE, "")) if passes is not None else ""
        entered = g.let_in = bool(g.device) or _same(request.cookies.get(PASS, ""), pass_value())
        if request.method == "POST":
            origin = request.headers.get("Origin")
            if origin is not None and _split(origin).netloc != request.host:
                abort(403, "This form did not come from this page.")
            if request.headers.get("Sec-Fetch-Site", "same-origin") not in ("same-origin", "none"):
                abort(403, "This form did not come from this page.")
            if request.endpoint in LARGER and (entered or not token):
                request.max_content_length = LARGER[request.endpoint]
            g.own_form = bool(request.form)  # which refuses what is too large
        if token and request.endpoint not in OPEN and not entered:
            if request.method == "POST" and SAVING.fullmatch(request.path):
                return enter_page(_numbered(), _typed(request.form), status=403)
            return redirect("/enter", 303)
        if request.method == "POST" and not _same(request.form.get("form_token", ""), form_token()):
            shown = again.get(request.endpoint or "")
            if shown is None:
                abort(403, "This form is too old or did not come from this page. Load it anew and try again.")
            return make_response(shown(**(request.view_args or {})), 403)
        g.taken = True
        return None

    @app.after_request
    def finish(response: Response) -> Response:
        for header, value in HEADERS.items():
            response.headers.setdefault(header, value)
        if response.status_code == 303 and SCRIPT in request.headers and g.get("taken") and request.method == "POST":
            response.status_code, response.headers[NEXT] = 204, response.headers.pop("Location")
            response.set_data(b"")
        if request.endpoint == "static":
            response.headers["Cache-Control"] = "max-age=300"
        if getattr(g, "new_session", False):
            response.set_cookie(SESSION, g.session, httponly=True, samesite="Strict")
        response.headers.pop("Server", None)
        return response

    def enter_page(
        path: str = "", kept: tuple[tuple[str, str], ...] = (), said: str = "", status: int = 200, wait: int = 0
    ) -> Response:
        response = make_response(
            render_template("enter.html", said=said, path=path, kept=kept, prefix=KEPT, forget=revoked()), status
        )
        if wait:
            response.headers["Retry-After"] = str(wait)
        return response

    @app.route("/enter", methods=["GET", "POST"])
    def enter():
        if request.method == "GET" or not token:
            return enter_page()
        path, kept = _carried()
        address = request.remote_addr or ""
        wait = math.ceil(guesses.take(address))
        if wait:
            return enter_page(path, kept, f"Too many wrong tries. Wait {wait} s, then try again.", 429, wait)
        given = request.form.get("token", "")
        device = "" if passes is None or _same(given, token) else passes.use(given)
        if not device and not _same(given, token):
            return enter_page(path, kept, "That is not the token, and no pass that is still good.", 403)
        guesses.right(address)
        response = make_response(render_template("resend.html", path=path, kept=kept)) if path else redirect("/", 303)
        if device:
            return holding(response, device)
        response.set_cookie(PASS, pass_value(), httponly=True, samesite="Strict")
        return response

    @app.route("/pass/<key>", methods=["GET", "POST"])
    def use_pass(key: str):
        """A pass is used by a button, not by opening its address: what looks ahead at addresses uses none up."""
        if passes is None or not token:
            return redirect("/", 303)
        if request.method == "GET":
            return pass_page(key)
        address = request.remote_addr or ""
        wait = math.ceil(guesses.take(address))
        if wait:
            return pass_page(key, f"Too many wrong tries. Wait {wait} s, then try again.", 429, wait)
        device = passes.use(key)
        if not device:
            return pass_page(key, "This pass was used already, was revoked or ran out. Ask for a new one.", 403)
        guesses.right(address)
        return holding(redirect("/", 303), device)

    def pass_page(key: str, said: str = "", status: int = 200, wait: int = 0) -> Response:
        response = make_response(render_template("pass.html", key=key, said=said), status)
        if wait:
            response.headers["Retry-After"] = str(wait)
        return response

    def holding(response: Any, device: str) -> Response:
        response.set_cookie(DEVICE, device, httponly=True, samesite="Strict", max_age=DEVICE_SECONDS)
        return response

    def enter_again():
        return enter_page(*_carried(), "This form had expired. Enter the token again.", 403)

    again["enter"] = enter_again
    again["use_pass"] = lambda key: pass_page(key, "This form had expired. Press the button again.", 403)
    app.jinja_env.globals["is_here"] = is_here
    app.jinja_env.globals["let_in"] = lambda: bool(g.get("let_in"))
    app.jinja_env.globals["form_token"] = form_token


def is_here() -> bool:
    """Whether the request comes from the machine itself, and from no device that has a pass."""
    return not g.get("device") and is_loopback(request.remote_addr or "")


def _numbered() -> str:
    """The address of the form of this request, with its number where that is one."""
    path = f"{request.path}?save={request.args.get('save', '')}"
    return path if SAVING.fullmatch(path) else request.path


def _carried() -> tuple[str, tuple[tuple[str, str], ...]]:
    """The form carried along by the token page: where it goes, and its fields."""
    path = request.form.get("kept_path", "")
    if not SAVING.fullmatch(path):
        return "", ()
    return path, tuple(
        (key[len(KEPT) :], value) for key, value in request.form.items(multi=True) if key.startswith(KEPT)
    )


def _typed(form: Any) -> tuple[tuple[str, str], ...]:
    return tuple((key, value) for key, value in form.items(multi=True) if key != "form_token")


def _same(given: str, wanted: str) -> bool:
    """Whether two texts are the same, in a time that does not tell how far; any text may be given."""
    return hmac.compare_digest(given.encode("utf-8", "surrogatepass"), wanted.encode("utf-8", "surrogatepass"))


def _split(address: str) -> Any:
    """The parts of an address; of one that is none, empty parts."""
    try:
        parts = urlsplit(address)
        _ = parts.hostname
        return parts
    except ValueError:
        return urlsplit("")
