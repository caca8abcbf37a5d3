"""Options that would do nothing say so: every pair of the options of `quote` and `sheet`."""

import itertools

import pytest

from howdeep.cli_pairs import QUOTE, SHEET, refuse_idle
from howdeep.errors import HowdeepError

from .pages import CASE
from .test_cli import howdeep

FORMS = {"html", "json", "letter", "order"}
PAIRS = {
    # option: what it does something with, of all the others (what both say is done)
    "scope": {"only", "compare", "two-step", "annex", "shop-copy", "letter", "order", "html", "promise", "json"},
    "only": {"compare", "two-step", "annex", "shop-copy", "letter", "order", "html", "promise", "json"},
    "compare": {"two-step", "annex", "shop-copy", "letter", "order", "html", "promise", "show"},
    "two-step": {"annex", "shop-copy", "html", "promise", "json"},
    "annex": {"shop-copy", "html", "promise", "show"},
    "shop-copy": {"html", "promise", "show"},
    "letter": {"promise", "show"},
    "order": {"promise", "show"},
    "html": {"force", "promise", "show", "since"},
    "promise": {"json"},
    "show": {"json"},
    "since": {"json"},
    "approve": {"by", "how"},
    "date": {"scope", "only", "compare", "two-step", "annex", "shop-copy", "letter", "order", "html", "promise", "json",
             "approve"},
}
"""Written from what the help says of each option, before the table of the program."""
NEEDS = {"by": "approve", "how": "approve", "force": "html"}
"""Does nothing without the other."""
OPTIONS = sorted({*PAIRS, *NEEDS, "json"})


def goes(first, second):
    """Whether both options do something together, by the table above."""
    pair = {first, second}
    for name in pair:
        if name in NEEDS and NEEDS[name] not in pair:
            return False
    return second in PAIRS.get(first, ()) or first in PAIRS.get(second, ())


@pytest.mark.parametrize("first,second", itertools.combinations(OPTIONS, 2))
def test_each_pair_of_quote_either_does_what_both_say_or_is_refused(first, second):
    given = {first: "x", second: True}
    if goes(first, second):
        refuse_idle(QUOTE, given)
        return
    with pytest.raises(HowdeepError) as refused:
        refuse_idle(QUOTE, given)
    for fault in refused.value.faults:
        assert fault.hint.startswith(("leave out --", "add --")) and "does nothing" in fault.message


@pytest.mark.parametrize("first,second", itertools.combinations(("only", "proof", "html", "force", "json"), 2))
def test_each_pair_of_sheet(first, second):
    fine = {frozenset(pair) for pair in (("html", "force"), ("only", "proof"), ("only", "html"), ("only", "json"))}
    if frozenset((first, second)) in fine:
        refuse_idle(SHEET, {first: True, second: True})
    else:
        with pytest.raises(HowdeepError):
            refuse_idle(SHEET, {first: True, second: True})


def test_every_option_of_both_commands_is_in_the_table():
    """An option that is added is thought of: it stands in the table, or among those that go with everything."""
    from typer.main import get_command

    from howdeep.cli import app

    everywhere = {"rules", "prices", "no-colour", "help"}
    commands = get_command(app).commands
    for name, known in (("quote", set(OPTIONS)), ("sheet", {"scope", "only", "proof", "html", "force", "json"})):
        found = {text.removeprefix("--") for option in commands[name].params for text in option.opts
                 if text.startswith("--")}
        assert found - everywhere == known, name


@pytest.mark.parametrize("command,says", [
    (("quote", "--by", "Ann"), "--approve"), (("quote", "--letter", "--html", "x.html"), "writes the estimate"),
    (("sheet", "--proof", "--html", "x.html"), "both sheets"),
    (("quote", "--show", "first", "--scope", "refresh"), "as made"),
])
def test_the_commands_refuse_with_code_2_and_write_nothing(tmp_path, command, says):
    name, *options = command
    done = howdeep(name, CASE, *[tmp_path / option if option == "x.html" else option for option in options])
    assert done.returncode == 2 and says in done.stderr and not list(tmp_path.iterdir())
