"""Plain values to YAML that the strict reader reads back to the same values, in the order given."""

from __future__ import annotations

import re
from typing import Any

import yaml

from .strict_yaml import scalar


class _Dumper(yaml.SafeDumper):
    """Quotes text only where the strict reader would otherwise take it for something else."""

    def ignore_aliases(self, data: Any) -> bool:
        return True


_Dumper.yaml_implicit_resolvers = {}
_Dumper.add_implicit_resolver("tag:yaml.org,2002:bool", re.compile(r"(?:true|false)\Z"), list("tf"))
_Dumper.add_implicit_resolver("tag:yaml.org,2002:null", re.compile(r"(?:~|null|)\Z"), ["~", "n", ""])
_Dumper.add_implicit_resolver(
    "tag:yaml.org,2002:float", re.compile(r"[-+]?(0|[1-9][0-9]*)(\.[0-9]+)?([eE][-+]?[0-9]+)?\Z"), list("-+0123456789")
)
_Dumper.add_implicit_resolver("tag:yaml.org,2002:merge", re.compile(r"<<\Z"), ["<"])


def _text(dumper: yaml.SafeDumper, value: str) -> yaml.Node:
    style = "|" if "\n" in value and not re.search(r"[ \t]\n|\A\s|\s\Z|\r", value) else None
    if style is None and scalar(value) != value:
        style = "'"
    return dumper.represent_scalar("tag:yaml.org,2002:str", value, style=style)


def _number(dumper: yaml.SafeDumper, value: float) -> yaml.Node:
    text = repr(value)
    return dumper.represent_scalar("tag:yaml.org,2002:float", text)


_Dumper.add_representer(str, _text)
_Dumper.add_representer(int, lambda dumper, value: dumper.represent_scalar("tag:yaml.org,2002:float", str(value)))
_Dumper.add_representer(float, _number)


def dump(value: Any) -> str:
    """YAML text of plain dicts, lists, text, numbers, booleans and None."""
    return yaml.dump(value, Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=110, default_flow_style=False)


def dump_inline(value: Any) -> str:
    """The same on one line, in braces and brackets."""
    return yaml.dump(
        [value], Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=float("inf"), default_flow_style=True
    ).strip()[1:-1]
