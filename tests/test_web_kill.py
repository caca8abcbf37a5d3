"""The page's server killed while devices save: a sample of what bench/page_kill.py does two hundred times."""

from .over_http import killed_while_saving


def test_nothing_that_the_page_acknowledged_is_lost_when_its_server_is_killed(tmp_path):
    seen = killed_while_saving(tmp_path, 8)
    assert seen["kills"] == 8 and seen["taken"] >= 8 and seen["amid"] >= 4, "most were meant to fall within a save"
