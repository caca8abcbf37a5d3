"""Forms that come twice: what is sent again under the number of its form is saved once, also over a crash.

A form carries a number (`?save=`). Before a save takes effect, its number, what the form said and the digest that the
job's file is about to have are on disk. The same form sent again, because its answer was lost on the way, was saved
where this process saw it so, or where the job's file has that digest or had it since: its journal tells. Then the
address that followed is given once more, and nothing is done.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import threading
from collections import OrderedDict
from collections.abc import Iterator
from dataclasses import asdict, replace
from hashlib import sha256
from pathlib import Path
from typing import Any

from flask import Flask, g, redirect, request
from werkzeug.wrappers import Response

from ..errors import HowdeepError
from ..files.strict_yaml import digest_of
from ..files.whole import write_whole
from ..job.journal import journal_path, line_of
from ..job.write import told_before
from ..model.frozen import dataclass

NUMBER = re.compile(r"[0-9a-f]{8,32}")
MOST = 2000
"""Numbers that are remembered, the last ones."""
_SHOWN = ("form_token", "was.")
"""Fields that say what a form was filled in from, not what it says."""


@dataclass(frozen=True, slots=True)
class Send:
    """One form that was sent."""

    number: str
    said: str
    """Hash of where it was sent and of what it said."""
    job: str = ""
    """The job's file that it changes."""
    before: str = ""
    """Digest of that file until then."""
    to: str = ""
    """Its digest once it is saved; empty where that is not known beforehand."""
    journal: int = 0
    """How long the job's journal was until then, in bytes."""
    follows: str = ""
    """The address that follows a save."""
    done: bool = False
    """Whether this process saw it saved."""


class Sends:
    """The forms of one folder that were sent last. With a state folder they are kept there, readable by the user
    alone, else in memory."""

    def __init__(self, state: Path | None, folder: Path) -> None:
        name = sha256(str(folder.resolve()).encode("utf-8", "surrogateescape")).hexdigest()[:16]
        self.path = state / f"page-sends-{name}.jsonl" if state is not None else None
        self.lock, self.turns = threading.Lock(), dict[str, list[Any]]()
        self.known: OrderedDict[str, Send] = OrderedDict()
        for send in _read(self.path)[-MOST:]:
            self._remember(send)
        if self.path is not None and self.known:
            with contextlib.suppress(OSError, HowdeepError):  # what cannot be made shorter stays as long as it is
                write_whole(self.path, "".join(map(_line, self.known.values())).encode(), mode=0o600)

    def take_turn(self, number: str) -> None:
        """Forms of one number take turns: wait for the one before. `end_turn` lets the next one in."""
        with self.lock:
            turn = self.turns.setdefault(number, [threading.Lock(), 0])
            turn[1] += 1
        turn[0].acquire()

    def end_turn(self, number: str) -> None:
        """The form of this number that had its turn is through."""
        with self.lock:
            turn = self.turns[number]
            turn[1] -= 1
            if not turn[1]:
                del self.turns[number]
        turn[0].release()

    def followed(self, number: str, said: str) -> str:
        """The address that followed this form when it was saved; empty where it was not, or said something else."""
        with self.lock:
            send = self.known.get(number)
        if send is None or send.said != said or not send.follows:
            return ""
        return send.follows if send.done or _was_saved(send) else ""

    def about_to(self, send: Send) -> None:
        """Remember a save before it takes effect. Where it cannot be kept the save is made all the same."""
        with self.lock:
            self._remember(send)
            if self.path is None:
                return
            with contextlib.suppress(OSError):
                handle = os.open(
                    self.path, os.O_WRONLY | os.O_CREAT | os.O_APPEND | getattr(os, "O_NOFOLLOW", 0), 0o600
                )
                try:
                    os.write(handle, _line(send).encode())
                    os.fsync(handle)
                finally:
                    os.close(handle)

    def finished(self, number: str, said: str, follows: str) -> None:
        """Remember that a form was saved."""
        with self.lock:
            send = self.known.get(number)
            if send is None or send.said != said:
                send = Send(number, said)
            self._remember(replace(send, follows=follows, done=True))

    def _remember(self, send: Send) -> None:
        self.known[send.number] = send
        self.known.move_to_end(send.number)
        while len(self.known) > MOST:
            self.known.popitem(last=False)


def _was_saved(send: Send) -> bool:
    """Whether the job's file has, or once had, what a save was about to give it."""
    path = Path(send.job)
    if send.to in ("", send.before):
        return False
    with contextlib.suppress(OSError):
        if digest_of(path.read_bytes()) == send.to:
            return True
        since = journal_path(path).read_bytes()[send.journal :]
        for raw in since.split(b"\n"):
            with contextlib.suppress(ValueError):
                if line_of(raw.decode()).to == send.to:
                    return True
    return False


def _length(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return 0


def _line(send: Send) -> str:
    plain = {key: value for key, value in asdict(send).items() if key != "done"}
    return json.dumps(plain, ensure_ascii=True, separators=(",", ":")) + "\n"


def _read(path: Path | None) -> list[Send]:
    """What was kept; lines that were torn off or damaged are passed over."""
    if path is None:
        return []
    try:
        text = path.read_text(encoding="ascii")
    except (OSError, UnicodeDecodeError):
        return []
    found = []
    for line in text.splitlines():
        with contextlib.suppress(ValueError, TypeError):
            found.append(Send(**json.loads(line)))
    return found


def said_by_form() -> str:
    """Hash of where the form of this request was sent and of all that it says, its files too."""
    told = sha256(request.path.encode("utf-8", "surrogatepass"))
    fields: list[tuple[str, str]] = [
        (key, value) for key, value in request.form.items(multi=True) if not key.startswith(_SHOWN)
    ]
    for key, file in request.files.items(multi=True):
        if file.filename:
            fields.append((key, sha256(file.stream.read()).hexdigest()))
            file.stream.seek(0)
    told.update(json.dumps(sorted(fields), ensure_ascii=True).encode())
    return told.hexdigest()


@contextlib.contextmanager
def saving(follows: str) -> Iterator[None]:
    """What is saved of a job inside is the save of the form of this request, and `follows` is the address after it."""
    sends, number, said = getattr(g, "send", (None, "", ""))
    if sends is None:
        yield
        return

    def told(path: Path, before: str, to: str) -> None:
        length = _length(journal_path(path))
        sends.about_to(Send(number, said, str(path.absolute()), before, to, length, follows))

    with told_before(told):
        yield


def add_sends(app: Flask, sends: Sends) -> None:
    """Look at every form that carries a number before its route does. Comes behind the guard."""

    @app.before_request
    def twice() -> Any:
        number = request.args.get("save", "")
        if request.method != "POST" or not NUMBER.fullmatch(number):
            return None
        sends.take_turn(number)
        g.turn = number
        g.send = (sends, number, said_by_form())
        follows = sends.followed(number, g.send[2])
        return redirect(follows, 303) if follows else None

    @app.after_request
    def remembered(response: Response) -> Response:
        if response.status_code == 303 and "send" in g:
            sends.finished(g.send[1], g.send[2], response.headers.get("Location", ""))
        return response

    @app.teardown_request
    def next_one(_: BaseException | None) -> None:
        number = g.pop("turn", "")
        if number:
            sends.end_turn(number)


__all__ = ["Send", "Sends", "add_sends", "said_by_form", "saving"]
