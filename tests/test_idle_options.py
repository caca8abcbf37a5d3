"""Options that would do nothing say so, and options that are gone say what replaced them."""

import itertools

import pytest

from howdeep.cli.pairs import LETTER, ORDER, PROMISE, QUOTE, SHEET, refuse_idle
from howdeep.errors import HowdeepError

from .commands import howdeep
from .pages import CASE

EVERYWHERE = {"rules", "prices", "no-colour", "help"}
COMMANDS = {
    # command: its table, and option -> what it does something with, of all the others (what both say is done)
    ("quote",): (
        QUOTE,
        {
            "scope": {"only", "compare", "two-step", "annex", "shop-copy", "html", "pdf", "date", "json"},
            "only": {"compare", "two-step", "annex", "shop-copy", "html", "pdf", "date", "json"},
            "compare": {"two-step", "annex", "shop-copy", "html", "pdf", "date"},
            "two-step": {"annex", "shop-copy", "html", "pdf", "date", "json"},
            "annex": {"shop-copy", "html", "pdf", "date"},
            "shop-copy": {"html", "pdf", "date"},
            "date": {"json"},
            "html": {"pdf", "force", "date"},
            "pdf": {"force", "date"},
        },
    ),
    ("letter",): (
        LETTER,
        {
            "scope": {"only", "html", "pdf", "json"},
            "only": {"html", "pdf", "json"},
            "promise": {"html", "pdf", "json"},
            "html": {"pdf", "force", "date"},
            "pdf": {"force", "date"},
        },
    ),
    ("order",): (
        ORDER,
        {
            "scope": {"only", "html", "pdf", "csv", "json"},
            "only": {"html", "pdf", "csv", "json"},
            "promise": {"html", "pdf", "csv", "json"},
            "html": {"pdf", "csv", "force"},
            "pdf": {"csv", "force"},
            "csv": {"force"},
        },
    ),
    ("promise", "make"): (
        PROMISE,
        {
            "scope": {"only", "two-step", "html", "pdf", "date", "json"},
            "only": {"two-step", "html", "pdf", "date", "json"},
            "two-step": {"html", "pdf", "date", "json"},
            "date": {"html", "pdf", "json"},
            "html": {"pdf", "force"},
            "pdf": {"force"},
        },
    ),
    ("promise", "show"): (PROMISE, {"html": {"pdf", "force"}, "pdf": {"force"}}),
    ("promise", "changes"): (PROMISE, {"html": {"pdf", "force"}, "pdf": {"force"}}),
    ("sheet", "assembly"): (
        SHEET,
        {
            "scope": {"only", "html", "pdf", "json"},
            "only": {"html", "pdf", "json"},
            "html": {"pdf", "force"},
            "pdf": {"force"},
        },
    ),
    ("sheet", "proof"): (
        SHEET,
        {
            "scope": {"only", "html", "pdf", "json"},
            "only": {"html", "pdf", "json"},
            "html": {"pdf", "force"},
            "pdf": {"force"},
        },
    ),
}
"""Written from what the help says of each option, before the tables of the program."""
NEEDS = {"force": {"html", "pdf", "csv"}}
"""Does nothing without one of them."""
NEEDS_OF_LETTER = {**NEEDS, "date": {"html", "pdf"}}


def options_of(command):
    _, pairs = COMMANDS[command]
    return {*pairs, *(name for others in pairs.values() for name in others), "json", "force"}


def goes(command, first, second):
    """Whether both options do something together, by the table above."""
    _, pairs = COMMANDS[command]
    needs = NEEDS_OF_LETTER if command == ("letter",) else NEEDS
    pair = {first, second}
    if any(name in needs and not pair & needs[name] for name in pair):
        return False
    return second in pairs.get(first, ()) or first in pairs.get(second, ())


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_each_pair_of_options_either_does_what_both_say_or_is_refused(command):
    table, _ = COMMANDS[command]
    for first, second in itertools.combinations(sorted(options_of(command)), 2):
        given = {first: "x", second: True}
        if goes(command, first, second):
            refuse_idle(table, given)
            continue
        with pytest.raises(HowdeepError) as refused:
            refuse_idle(table, given)
            pytest.fail(f"{command}: --{first} --{second} is not refused")
        for fault in refused.value.faults:
            assert fault.hint.startswith(("leave out --", "add --")) and "does nothing" in fault.message


def command_of(words):
    from typer.main import get_command

    from howdeep.cli.main import app

    found = get_command(app)
    for word in words:
        found = found.commands[word]
    return found


def test_every_option_of_the_papers_is_in_the_table():
    """An option that is added is thought of: it stands in the table, or among those that go with everything."""
    for command in COMMANDS:
        found = {
            text.removeprefix("--")
            for option in command_of(command).params
            if not getattr(option, "hidden", False)
            for text in option.opts
            if text.startswith("--")
        }
        assert found - EVERYWHERE == options_of(command), command


@pytest.mark.parametrize(
    ("command", "says"),
    [
        (("quote", "--force"), "does nothing by itself"),
        (("quote", "--json", "--html", "x.html"), "two commands"),
        (("letter", "--promise", "first", "--scope", "refresh"), "it was made for"),
    ],
)
def test_the_commands_refuse_with_code_2_and_write_nothing(tmp_path, command, says):
    name, *options = command
    done = howdeep(name, CASE, *[tmp_path / option if option == "x.html" else option for option in options])
    assert done.returncode == 2 and says in done.stderr and not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("was", "now"),
    [
        (("quote", CASE, "--letter"), "howdeep letter JOB"),
        (("quote", CASE, "--order"), "howdeep order JOB"),
        (("quote", CASE, "--promise", "first"), "howdeep promise make JOB NAME"),
        (("quote", CASE, "--show", "first"), "howdeep promise show JOB NAME"),
        (("quote", CASE, "--since", "first"), "howdeep promise changes JOB NAME"),
        (("quote", CASE, "--approve", "900", "--by", "Ann", "--how", "in person"), "howdeep promise approve JOB SUM"),
        (("sheet", CASE), f"howdeep sheet assembly {CASE}"),
        (("sheet", CASE, "--proof"), f"howdeep sheet assembly {CASE}"),
        (("sheet", "asembly", CASE), "did you mean assembly"),
    ],
    ids=lambda value: " ".join(str(word) for word in value if word != CASE) if isinstance(value, tuple) else "",
)
def test_an_option_that_is_gone_says_in_one_line_what_replaced_it(was, now):
    from typer.testing import CliRunner

    from howdeep.cli.main import app

    done = CliRunner().invoke(app, [str(word) for word in was])
    assert isinstance(done.exception, HowdeepError) and done.exception.exit_code == 2
    assert len(done.exception.faults) == 1 and now in str(done.exception)
