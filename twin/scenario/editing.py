"""Changes to a scenario's text that leave all else as it stands: comments, order, blanks and line ends."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any

from ruamel.yaml.nodes import CollectionNode, MappingNode, Node, ScalarNode, SequenceNode

from twin.scenario.faults import Path, ScenarioError, refuse
from twin.scenario.paths import changed, resolve
from twin.scenario.reading import Tree, forgive, nodes, plain, scalar

_BARE = re.compile(r"[A-Za-z0-9.+](?:[A-Za-z0-9 ./%_+()@-]*[A-Za-z0-9./%_+()-])?")
_WORDS = ("null", "true", "false", "yes", "no", "on", "off", "y", "n")


def flow_text(value: object) -> str:
    """Return a plain value as YAML on one line."""
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_word(str(key))}: {flow_text(own)}" for key, own in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(flow_text(own) for own in value) + "]"
    if isinstance(value, str):
        return _word(value)
    return json.dumps(value)


def _word(text: str) -> str:
    """Return a text as it may stand in a file: bare where that reads back as the same text, else in quotes."""
    node = ScalarNode(tag="tag:yaml.org,2002:str", value=text)
    bare = _BARE.fullmatch(text) is not None and scalar(node) == text and text.lower() not in _WORDS
    return text if bare else json.dumps(text, ensure_ascii=False)


def with_changes(text: str, changes: Mapping[str, Any], name: str = "<text>") -> str:
    """Return a scenario's text with values set by their paths; everything else stays as it is, sign by sign.

    Raises
    ------
    ScenarioError, Refusal : A path that does not exist, or a place that is shared through an alias.
    """
    text = forgive(text)
    node = nodes(text, name)
    for path_text, value in changes.items():
        tree = plain(node, name)
        path = resolve(tree.value, path_text)
        wanted = changed(tree.value, path, value)
        text = _with(text, node, tree, path, wanted)
        again = _read_back(text, name, wanted)
        if again is None:
            message = f"{path_text} cannot be changed in place: it is shared through an alias"
            raise refuse(message, value=path_text, way_out="Write its values out in the file first")
        node = again
    return text


def _read_back(text: str, name: str, wanted: object) -> Node | None:
    """Return the nodes of a changed text, or None where it does not hold what is wanted."""
    try:
        node = nodes(text, name)
        return node if plain(node, name).value == wanted else None
    except ScenarioError:
        return None


def _with(text: str, node: Node, tree: Tree, path: Path, wanted: Any) -> str:  # noqa: ANN401
    """Return the text with the deepest place on the way to ``path`` made as wanted."""
    old, new = tree.value, wanted
    for step in path:
        inner = _child(node, step)
        if inner is None:
            return _inserted(text, node, str(step), new[step])
        node, old, new = inner, old[step], new[step]
        if not isinstance(old, dict | list) or _opened(old, new):
            break
    return _replaced(text, node, new)


def _opened(old: object, new: object) -> bool:
    """Tell whether a part that was written in short had to be written out."""
    return isinstance(old, dict) and isinstance(new, dict) and not set(old) <= set(new)


def _child(node: Node, step: str | int) -> Node | None:
    if isinstance(node, SequenceNode):
        found: Node = node.value[step]
        return found
    pairs = node.value if isinstance(node, MappingNode) else []
    return next((value for key, value in pairs if isinstance(key, ScalarNode) and key.value == step), None)


def _is_block(node: Node) -> bool:
    return isinstance(node, CollectionNode) and not node.flow_style


def _replaced(text: str, node: Node, value: object) -> str:
    start, end, words = int(node.start_mark.index), _end(node), flow_text(value)
    if start == end:
        words = f" {words}" if start and not text[start - 1].isspace() else words
    elif isinstance(node, ScalarNode) and node.style in ("|", ">"):
        words += "\n"
    elif _is_block(node) and isinstance(node, SequenceNode):
        words = f"  {words}"  # a list may stand as far left as its key, what takes its place may not
    return text[:start] + words + text[end:]


def _end(node: Node) -> int:
    """Return where a value really ends: a block ends with its last leaf, not where the next key begins."""
    if not _is_block(node) or not node.value:
        return int(node.end_mark.index)
    last = node.value[-1]
    return _end(last[1] if isinstance(node, MappingNode) else last)


def _inserted(text: str, node: Node, key: str, value: object) -> str:
    entry = f"{_word(key)}: {flow_text(value)}"
    if not node.value:
        at = int(node.end_mark.index) - 1
        return text[:at] + entry + text[at:]
    end = _end(node.value[-1][1])
    if not _is_block(node):
        return text[:end] + f", {entry}" + text[end:]
    line_end = text.find("\n", end)
    at = len(text) if line_end < 0 else line_end
    at -= text[at - 1 : at] == "\r"
    newline = "\r\n" if "\r\n" in text else "\n"
    return text[:at] + newline + " " * int(node.value[0][0].start_mark.column) + entry + text[at:]
