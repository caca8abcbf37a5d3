"""Any order of saves, kills, stops, edits by hand, links and write protection: what was acknowledged is there."""

import os
import signal
import tempfile
from pathlib import Path

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from howdeep.errors import HowdeepError, StaleFile
from howdeep.files import whole
from howdeep.files.edit_yaml import comments_of
from howdeep.files.strict_yaml import read
from howdeep.job import write
from howdeep.job.journal import read_journal

from .writers import Writer, on_demand

moments = st.floats(0, 0.03)


class Storage(RuleBasedStateMachine):
    """One job file, this program, another program and a person with an editor."""

    def __init__(self):
        super().__init__()
        self.wait, whole.LOCK_SECONDS = whole.LOCK_SECONDS, 0.1
        self.folder = tempfile.TemporaryDirectory()
        self.real = Path(self.folder.name) / "store" / "job.yaml"
        self.real.parent.mkdir()
        self.path = self.real
        write.create(self.real, write.new_job("twin"))
        self.taken, self.perhaps, self.notes, self.count = set(), set(), [], 0
        self.other, self.stopped, self.pending = None, False, None

    def teardown(self):
        if self.other is not None:
            self.other.signal(signal.SIGCONT)
            self.other.kill()
        whole.LOCK_SECONDS = self.wait
        self.folder.cleanup()

    def name(self):
        self.count += 1
        return f"w{self.count}"

    @property
    def protected(self):
        return not self.real.stat().st_mode & 0o222

    @rule()
    def save(self):
        name = self.name()

        def change(plain):
            return {**plain, "waived": {**(plain.get("waived") or {}), name: {"reason": "x", "by": "y"}}}

        try:
            write.save(self.path, read(self.path).digest, change)
        except StaleFile:
            assert self.pending is not None and not self.stopped, "nobody else was saving"
        except HowdeepError as error:
            assert self.protected or (self.stopped and "another program holds it" in str(error)), error
        else:
            assert not self.protected
            self.taken.add(name)

    @rule(moment=moments)
    def ask_other(self, moment):
        """The other program begins to save; it is left alone for a moment of that."""
        self.settle()
        if self.other is None:
            self.other = Writer(on_demand, self.path)
        self.pending = self.name()
        self.perhaps.add(self.pending)
        self.other.pipe.send(self.pending)
        assert self.other.hear() == "begun"
        self.other.pipe.poll(moment)

    @precondition(lambda self: self.pending is not None and not self.stopped)
    @rule()
    def stop_other(self):
        self.other.signal(signal.SIGSTOP)
        self.stopped = True

    @rule()
    def settle(self):
        """The other program goes on, and says what came of its save."""
        if self.stopped:
            self.other.signal(signal.SIGCONT)
            self.stopped = False
        if self.pending is not None:
            name, self.pending = self.pending, None
            said = self.other.hear()
            if said == "taken":
                self.taken.add(name)
            else:
                self.perhaps.discard(name)
                assert (
                    said == "stale"
                    or "changed by someone" in said
                    or "write-protected" in said
                    or "another program" in said
                ), said

    @precondition(lambda self: self.other is not None)
    @rule()
    def kill_other(self):
        if self.pending is not None and "taken" in self.drained():
            self.taken.add(self.pending)
        self.other, self.stopped, self.pending = None, False, None

    def drained(self):
        heard = len(self.other.said)
        self.other.kill()
        return self.other.said[heard:]

    @precondition(lambda self: self.pending is None)
    @rule(text=st.sampled_from(["plain", "# and # more", "'quoted"]))
    def note_by_hand(self, text):
        """A person adds a comment; programs without locks come between only where nobody saves."""
        if not self.protected:
            self.notes.append(f"# {self.count} {text}")
            self.real.write_text(f"{self.real.read_text()}{self.notes[-1]}\n")

    @precondition(lambda self: self.pending is None)
    @rule(protect=st.booleans())
    def protect(self, protect):
        self.real.chmod(0o444 if protect else 0o644)

    @rule(linked=st.booleans())
    def through_link(self, linked):
        link = Path(self.folder.name) / "link.yaml"
        if linked and not link.is_symlink():
            link.symlink_to(self.real)
        self.path = link if linked else self.real

    @invariant()
    def what_was_taken_is_there_and_nothing_else(self):
        document = read(self.real)
        found = set(document.value.get("waived") or {})
        assert self.taken <= found <= self.taken | self.perhaps
        assert [note for note in self.notes if note not in comments_of(document.text)] == []
        assert not self.real.is_symlink() and (self.path == self.real or self.path.is_symlink())

    @precondition(lambda self: self.other is None)
    @invariant()
    def nothing_is_left_over_after_a_save(self):
        if not self.protected:
            write.save(self.path, read(self.path).digest, lambda plain: {**plain, "title": f"{self.count}"})
            assert sorted(os.listdir(self.real.parent)) == ["job.journal", "job.yaml"]
            assert read_journal(self.path).text.encode() == self.path.read_bytes()


Storage.TestCase.settings = settings(
    max_examples=15, stateful_step_count=25, deadline=None, suppress_health_check=list(HealthCheck)
)
TestStorage = Storage.TestCase
