"""The page as others meet it: its production server in a process of its own, and clients on the loopback address."""

import http.client
import multiprocessing
import os
import random
import re
import signal
import socket
import sys
import threading
import time
from html import unescape
from pathlib import Path
from urllib.parse import urlencode

from howdeep.files.strict_yaml import read
from howdeep.job import write
from howdeep.job.journal import read_journal

from .pages import CASE, hidden, shown

_CONTEXT = multiprocessing.get_context("forkserver")
_CONTEXT.set_forkserver_preload(
    [
        "howdeep.web.serve",
        "howdeep.web.app",
        "howdeep.assessment.session",
        "howdeep.web.promises",
        "waitress.server",
        "tests.over_http",
    ]
)


def free_port():
    with socket.socket() as asked:
        asked.bind(("127.0.0.1", 0))
        return asked.getsockname()[1]


def _serve(folder, port, state, log):
    """What `howdeep page` runs; with a `log`, each request's seconds (whole, of the processor) are added to it."""
    from howdeep.web import serve as module

    os.environ["HOWDEEP_STATE"] = str(state)
    sys.stdout = sys.stderr = open(os.devnull, "w")  # noqa: SIM115 - as long as the process
    if log:
        plain, lock = module.create_app, threading.Lock()

        def timed_app(*args, **options):
            app = plain(*args, **options)
            inner, reckoners = app.wsgi_app, options["reckon"]

            def timed(environ, start):
                reckoners.spent.seconds = 0.0
                begun, cpu = time.perf_counter(), time.thread_time()
                whole = inner(environ, start)
                result = list(whole)
                told = (
                    f"{environ['REQUEST_METHOD']} {environ['PATH_INFO']} {time.perf_counter() - begun:.4f} "
                    f"{time.thread_time() - cpu + reckoners.spent.seconds:.4f}\n"
                )
                with lock, open(log, "a", encoding="utf-8") as stream:
                    stream.write(told)
                whole.close()  # which the server does once it has sent it
                return result

            app.wsgi_app = timed
            return app

        module.create_app = timed_app
    module.serve(Path(folder), host="127.0.0.1", port=port, token="", rules=None, prices=None)


class Server:
    """`howdeep page` in a process of its own; it is ended with the block, or killed."""

    def __init__(self, folder, state, log="", port=0):
        self.port = port or free_port()
        self.process = _CONTEXT.Process(target=_serve, args=(str(folder), self.port, str(state), str(log)), daemon=True)
        self.begun = time.perf_counter()
        self.process.start()

    def __enter__(self):
        self.listening()
        return self

    def listening(self, seconds=120.0):
        """Wait until it takes connections; returns the seconds that took."""
        while time.perf_counter() - self.begun < seconds:
            try:
                socket.create_connection(("127.0.0.1", self.port), 1).close()
                return time.perf_counter() - self.begun
            except OSError:
                assert self.process.is_alive(), "the server ended by itself"
                time.sleep(0.01)
        raise AssertionError("the server does not listen")

    def kill(self):
        """End it as a power cut would."""
        os.kill(self.process.pid, signal.SIGKILL)
        self.process.join(30)
        assert self.process.exitcode == -signal.SIGKILL

    def processes(self):
        """Its process and those that it began."""
        tasks = Path(f"/proc/{self.process.pid}/task").glob("*/children")
        return [self.process.pid, *(int(pid) for task in tasks for pid in task.read_text().split())]

    def memory(self):
        """Memory in MB of all its processes: what is shared with others is counted in parts."""
        found = 0
        for pid in self.processes():
            rollup = Path(f"/proc/{pid}/smaps_rollup").read_text()
            found += int(re.search(r"^Pss:\s+(\d+)", rollup, re.MULTILINE).group(1))
        return found / 1024

    def __exit__(self, *_):
        if self.process.is_alive():
            self.process.terminate()
            self.process.join(30)


IDLE = 20.0
"""Seconds after which a device takes a new connection, as browsers do: the server lets one go after thirty."""


class Client:
    """One device: a connection that stays, and its cookies."""

    def __init__(self, port):
        self.port, self.cookies, self.line, self.used = port, {}, None, 0.0

    def send(self, method, path, fields=None):
        """(status, address that follows, text). Raises OSError or HTTPException where the line breaks."""
        if time.monotonic() - self.used > IDLE:
            self.close()
        if self.line is None:
            self.line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=120)
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        if fields is not None:
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        try:
            self.line.request(method, path, urlencode(fields) if fields is not None else None, headers)
            answer = self.line.getresponse()
            text = answer.read().decode()
            self.used = time.monotonic()
        except (OSError, http.client.HTTPException):
            self.close()
            raise
        for name, value in answer.getheaders():
            if name.lower() == "set-cookie":
                key, _, rest = value.partition("=")
                self.cookies[key] = rest.partition(";")[0]
        return answer.status, answer.getheader("Location", ""), text

    def close(self):
        if self.line is not None:
            self.line.close()
        self.line = None


def answer_to(html, rng):
    """The fields of an answer as a person would give it to the question that a page asks; None where it asks none."""
    question = hidden(html, "question")
    if not question:
        return None
    fields = {"form_token": hidden(html, "form_token"), **shown(html), "question": question}
    choices = [
        unescape(value)
        for value in re.findall(rf'<input type="radio" name="{re.escape(question)}" value="([^"]*)"', html)
    ]
    if choices and rng.random() > 0.15:
        return {**fields, question: rng.choice(choices)}
    return {**fields, "how": "unknown"}


def copies_of_case(folder, names):
    """A job for each name, with the customer's words and nothing said yet; returns the folder."""
    folder.mkdir(exist_ok=True)
    plain = read(CASE).value
    for name in names:
        write.create(
            folder / f"{name}.yaml",
            {**{key: plain[key] for key in ("howdeep_job", "engine", "customer")}, "title": name},
        )
    return folder


def killed_while_saving(tmp, kills, *, clients=3, seed=7):
    """Kill the server `kills` times at random moments while clients save notes; returns what was seen.

    Every note that was acknowledged must stand in its job afterwards, once and in its order; of those in flight each
    stands there whole or not at all; the journal gives the job's file byte for byte.
    """
    rng = random.Random(seed)
    names = [f"job-{number}" for number in range(clients)]
    folder = copies_of_case(tmp / "jobs", names)
    taken = {name: [] for name in names}
    flying = {name: [] for name in names}
    amid = beside = 0
    for round_ in range(kills):
        server = Server(folder, tmp / "state")
        server.listening()
        stop, going = threading.Event(), threading.Semaphore(0)

        def save_on(name, server=server, round_=round_, stop=stop, going=going):
            device, number = Client(server.port), 0
            try:
                html = device.send("GET", f"/job/{name}/note")[2]
                token = hidden(html, "form_token")
                going.release()
                while not stop.is_set():
                    number += 1
                    text = f"{name} round {round_} note {number}"
                    flying[name].append(text)
                    status = device.send("POST", f"/job/{name}/note", {"form_token": token, "text": text})[0]
                    assert status == 303, f"a note was answered with {status}"
                    taken[name].append(text)
            except (OSError, http.client.HTTPException):
                going.release()
            finally:
                device.close()

        threads = [threading.Thread(target=save_on, args=(name,), daemon=True) for name in names]
        for thread in threads:
            thread.start()
        for _ in threads:
            going.acquire()
        # every fourth lives until the processes that reckon beside it are at work
        time.sleep(rng.uniform(0.02, 0.6) if round_ % 4 else rng.uniform(1.0, 3.0))
        beside += len(server.processes()) > 1
        server.kill()
        stop.set()
        for thread in threads:
            thread.join(60)
        for name in names:
            path = folder / f"{name}.yaml"
            kept = [note["text"] for note in read(path).value.get("notes") or ()]
            lost = [text for text in taken[name] if text not in kept]
            assert not lost, f"acknowledged and gone: {lost}"
            assert kept == [text for text in flying[name] if text in kept], "a note stands twice or out of order"
            amid += any(text not in taken[name] for text in flying[name][-1:])
            assert not [text for text in kept if text not in flying[name]]
        left = {
            file.name
            for file in folder.iterdir()
            if file.suffix not in (".yaml", ".journal") and file.name != ".howdeep-book.json"
        }
        assert all(name.endswith((".howdeep-new", ".howdeep-lock")) for name in left), left
    for name in names:
        path = folder / f"{name}.yaml"
        plain = read(path)
        write.save(path, plain.digest, lambda plain: {**plain, "title": "the end"})  # which mends the journal
        assert read_journal(path).text.encode() == path.read_bytes(), "replayed the journal gives another job"
    return {"kills": kills, "taken": sum(map(len, taken.values())), "amid": amid, "beside": beside}
