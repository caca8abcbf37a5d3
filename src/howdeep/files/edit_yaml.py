"""Changed values written into a YAML text, so that comments, order and layout of everything else stay.

Only the entries that differ are written anew. The result is read back with the strict reader and must hold exactly the
values wanted; where it does not (layouts that are hardly ever written by hand), the whole text is written anew with its
comments gathered at its head. So a comment can move, and is never lost.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

import yaml

from ..errors import HowdeepError
from .plain_yaml import dump, dump_inline
from .strict_yaml import parse, scalar

_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_COMMENT = re.compile(r"(?:(?<=\s)|^)#[^\r\n\x85\u2028\u2029]*", re.MULTILINE)


@dataclass(slots=True)
class _Node:
    """A node of the text: where it starts and ends (characters), and its parts."""

    start: int
    end: int
    column: int
    style: str
    """scalar, block scalar, flow or block."""
    entries: dict[Any, tuple[_Node, _Node]] = field(default_factory=dict)
    """Key -> (key, value) of a mapping."""
    is_list: bool = False


def comments_of(text: str) -> list[str]:
    """Every comment of a YAML text, in order, each from its # to the end of its line."""
    return _Text(text).comments(0, len(text))


def edited(
    text: str, old: dict[str, Any], new: dict[str, Any], order: Sequence[str] = (), *, inline: bool = False
) -> str:
    """`text`, which holds the mapping `old`, changed to hold `new`; `order` places new keys of the first level.

    Both are plain values as the strict reader gives them. Keys that were there keep their order. With `inline` a
    mapping that takes the place of a single value, or is new in a mapping inside, stands in braces on one line.
    """
    before = _Text(text)
    comments = before.comments(0, len(text))
    try:
        result = _Editor(before, inline).run(old, new, order)
        if _same(parse(result).value, new) and sorted(comments_of(result)) == sorted(comments):
            return result
    except (HowdeepError, yaml.YAMLError, _NotByParts):
        pass
    ranked = {key: new[key] for key in sorted(new, key=lambda key: order.index(key) if key in order else len(order))}
    return "".join(f"{comment}\n" for comment in comments) + dump(ranked)


def _same(found: Any, wanted: Any) -> bool:
    """Equal, and no `true` taken for 1, no 1 for 1.0."""
    if isinstance(found, dict) and isinstance(wanted, dict):
        return found.keys() == wanted.keys() and all(_same(found[key], wanted[key]) for key in found)
    if isinstance(found, list) and isinstance(wanted, (list, tuple)):
        return len(found) == len(wanted) and all(map(_same, found, wanted))
    return found == wanted and all(isinstance(found, kind) == isinstance(wanted, kind) for kind in (bool, float))


class _NotByParts(Exception):
    """The text has a layout that cannot be changed in parts."""


def _end(event: Any) -> int:
    """Where an event ends in the text."""
    return int(event.end_mark.index)


class _Text:
    """A YAML text with its tree and its comments."""

    def __init__(self, text: str):
        self.text = text
        self.scalars: list[tuple[int, int]] = []
        """Where the scalars stand: a # inside one is no comment. Of a block scalar only what follows its first line."""
        self.root: _Node | None = None
        events = yaml.parse(text, Loader=_LOADER)
        for event in events:
            if isinstance(event, yaml.DocumentStartEvent):
                self.root = self.node(next(events), events)

    def node(self, event: Any, events: Iterator[Any]) -> _Node:
        start, column = event.start_mark.index, event.start_mark.column
        if isinstance(event, yaml.ScalarEvent):
            end, block = _end(event), event.style in ("|", ">")
            if end > start:
                self.scalars.append(((self.text.find("\n", start) + 1 or end) if block else start, end))
            return _Node(start, end, column, "block scalar" if block else "scalar")
        is_list = isinstance(event, yaml.SequenceStartEvent)
        node = _Node(start, start, column, "flow" if event.flow_style else "block", is_list=is_list)
        closing = yaml.SequenceEndEvent if is_list else yaml.MappingEndEvent
        while not isinstance(part := next(events), closing):
            first = self.node(part, events)
            if is_list:
                node.end = first.end
            else:
                value = self.node(next(events), events)
                node.entries[_key(part)] = (first, value)
                node.end = value.end
        if node.style == "flow":
            node.end = _end(part)
        return node

    def comments(self, start: int, end: int) -> list[str]:
        """The comments between two places."""
        found, at = [], start
        for low, high in [*(span for span in self.scalars if span[1] > start and span[0] < end), (end, end)]:
            found += [match.group().rstrip() for match in _COMMENT.finditer(self.text, at, max(at, low))]
            at = max(at, high)
        return found


def _key(event: Any) -> Any:
    key = scalar(event.value) if event.style in (None, "") else event.value
    return event.value if isinstance(key, (bool, float)) or key is None else key


class _Editor:
    """Cuts in a text that turn one mapping into another."""

    def __init__(self, source: _Text, inline: bool = False):
        self.source, self.text, self.inline = source, source.text, inline
        self.cuts: list[tuple[int, int, str]] = []
        """(start, end, new text), none inside another."""

    def run(self, old: dict[str, Any], new: dict[str, Any], order: Sequence[str]) -> str:
        root = self.source.root
        if root is None or not root.entries:
            raise _NotByParts
        self.mapping(root, old, new, order)
        newline = "\r\n" if "\r\n" in self.text else "\n"
        result, at = [], 0
        for start, end, put in sorted(self.cuts, key=lambda cut: cut[:2]):
            if start < at:
                raise _NotByParts
            result += [self.text[at:start], put.replace("\n", newline)]
            at = end
        return "".join([*result, self.text[at:]])

    def mapping(self, node: _Node, old: dict[Any, Any], new: dict[Any, Any], order: Sequence[str] = ()) -> None:
        if set(old) != set(node.entries) or not _by_entries(node, old, new):
            raise _NotByParts
        for key, (_, value) in node.entries.items():
            if key not in new:
                self.lines(node, key, "")
            elif not _same(old[key], new[key]):
                self.value(node, key, value, old[key], new[key])
        added = {key: value for key, value in new.items() if key not in old}
        if node.style == "flow":
            self.add_inline(node, added)
        else:
            for key in sorted(added, key=lambda key: order.index(key) if key in order else len(order)):
                self.add_line(node, key, added[key], new, order)

    def value(self, node: _Node, key: Any, value: _Node, old: Any, new: Any) -> None:
        """One entry's value changed: in its own parts, else on its line, else with the lines of the entry."""
        inside = value.style == "flow" and not self.source.comments(value.start, value.end)
        if isinstance(old, dict) and isinstance(new, dict) and _by_entries(value, old, new):
            self.mapping(value, old, new)
        elif (
            isinstance(old, list)
            and isinstance(new, (list, tuple))
            and value.style == "block"
            and len(new) > len(old)
            and all(map(_same, new, old))
        ):
            self.append(value, new[len(old) :])
        elif (
            node.style == "flow"
            or (value.style == "scalar" and (not _needs_lines(new) or (self.inline and isinstance(new, dict))))
            or (inside and (isinstance(new, (dict, list, tuple)) or not _needs_lines(new)))
        ):
            space = " " if self.text[value.start - 1] == ":" else ""
            self.cuts.append((value.start, value.end, space + dump_inline(new)))
        else:
            self.lines(node, key, self.indented(dump({key: new}), node.column))

    def lines(self, node: _Node, key: Any, put: str) -> None:
        """The lines of an entry replaced; their comments stay, on lines of their own."""
        name, value = node.entries[key]
        start, end = name.start - name.column, self.end_of(node, value)
        if node.style == "flow" or self.text[start : name.start].strip(" "):
            raise _NotByParts  # the first entry of a list item stands behind its dash
        kept = "".join(f"{' ' * node.column}{comment}\n" for comment in self.source.comments(start, end))
        self.cuts.append((start, end, kept + put))

    def add_line(self, node: _Node, key: Any, value: Any, new: dict[Any, Any], order: Sequence[str]) -> None:
        """A new entry on lines of its own: after the last one that the order puts before it, else at the end."""
        staying = [name for name in node.entries if name in new]
        earlier = [name for name in staying if name in order and key in order and order.index(name) < order.index(key)]
        after = node.entries[earlier[-1] if earlier else staying[-1]][1]
        at = self.end_of(node, after)
        braces = self.inline and node.column and isinstance(value, dict)
        line = f"{dump_inline(key)}: {dump_inline(value)}\n" if braces else dump({key: value})
        put = self.indented(line, node.column)
        self.cuts.append((at, at, put if at == 0 or self.text[at - 1] == "\n" else "\n" + put))

    def add_inline(self, node: _Node, added: dict[Any, Any]) -> None:
        if added:
            at = max((value.end for _, value in node.entries.values()), default=node.start + 1)
            put = ", ".join(dump_inline({key: value})[1:-1] for key, value in added.items())
            self.cuts.append((at, at, f", {put}" if node.entries else put))

    def append(self, node: _Node, items: Sequence[Any]) -> None:
        at = self.end_of(node, node)
        put = self.indented(dump(list(items)), node.column)
        self.cuts.append((at, at, put if self.text[at - 1] == "\n" else "\n" + put))

    def end_of(self, node: _Node, part: _Node) -> int:
        """The start of the line after `part`, an entry's value or the last item of `node`.

        Comments that stand deeper than the entry's name are its own: behind a text of several lines they would be
        read as part of it.
        """
        end = at = self.line_end(part.end)
        while at < len(self.text):
            line = self.text[at : (self.text.find("\n", at) + 1) or len(self.text)]
            bare = line.lstrip(" ")
            if bare.strip() and not (bare.startswith("#") and len(line) - len(bare) > node.column):
                break
            at += len(line)
            end = at if bare.strip() else end
        return end

    def line_end(self, at: int) -> int:
        """The start of the line after the one that ends at `at`."""
        if at and self.text[at - 1] == "\n":
            return at
        end = self.text.find("\n", at)
        return len(self.text) if end < 0 else end + 1

    @staticmethod
    def indented(text: str, column: int) -> str:
        return "".join(f"{' ' * column}{line}" if line.strip() else line for line in re.findall(r"[^\n]*\n", text))


def _by_entries(node: _Node, old: dict[Any, Any], new: dict[Any, Any]) -> bool:
    """Whether a mapping can be changed entry by entry: some stay, and from one in braces none goes."""
    return bool(node.entries) and (set(old) <= set(new) if node.style == "flow" else bool(set(old) & set(new)))


def _needs_lines(value: Any) -> bool:
    """Whether a value is better written on lines of its own."""
    return (bool(value) and isinstance(value, (dict, list, tuple))) or (isinstance(value, str) and "\n" in value)
