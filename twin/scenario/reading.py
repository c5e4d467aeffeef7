"""A YAML file becomes plain mappings, lists, texts and numbers, with the line of each: nothing in it is ever run.

The nodes of the file are read, and only plain ones are taken: no tags, no merge keys, no key twice. Words such as
``no`` and times such as ``06:00`` stay text, as in YAML 1.2.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.composer import Composer
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from twin.scenario.faults import Fault, Path, ScenarioError, shorten

LARGEST = 1_000_000
"""The largest file that is read [bytes]."""
DEEPEST = 20
MOST = 20_000
"""The most values a file may have, those of its aliases counted each time."""


_TOO_MANY = "the file has more values than a scenario can have"
_NUMBER = re.compile(r"[-+]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][-+]?[0-9]+)?")
_ODD = {".nan": "nan", ".inf": "inf", "+.inf": "inf", "-.inf": "-inf"}
_PLAIN = "tag:yaml.org,2002:"
_STEERING = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
"""Signs that steer a screen, a printer or the direction of writing, as escapes of YAML may write them."""
_NO_BLANK = re.compile(r"^([ \t]*(?:- )?[^\s#'\"\[\]{}:,&*!|>%@`-][^#'\"\[\]{}:\n]*):(?=[{\[])", re.MULTILINE)


@dataclass
class Tree:
    """What stands in a file, and the line on which each value stands."""

    value: Any
    lines: dict[Path, int] = field(default_factory=dict)
    file: str = "<text>"

    def line(self, path: Path) -> int:
        """Return the line of a value, or of the nearest thing around it."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path, 1)


def fault(
    file: str, line: int, message: str, *, value: object = "", limit: str = "", way_out: str = ""
) -> ScenarioError:
    """Return (for raising) an error that holds one fault without a place."""
    return ScenarioError([Fault(file, line, "", shorten(value), limit, way_out, message)])


def read_text(path: FilePath) -> str:
    """Return the text of a file; raise :class:`ScenarioError` when it cannot be read, is too large or not UTF-8."""
    name = str(path)
    try:
        if path.exists() and not path.is_file():
            raise fault(name, 0, "this is not a file", way_out="Name a scenario file")
        with path.open("rb") as stream:
            data = stream.read(LARGEST + 1)
    except FileNotFoundError:
        raise fault(name, 0, "there is no such file", way_out="Check the name") from None
    except (OSError, ValueError) as error:
        raise fault(name, 0, f"the file cannot be read: {error}", way_out="Check its name and rights") from None
    if len(data) > LARGEST:
        raise fault(
            name,
            0,
            f"the file is larger than a scenario can be: at most {LARGEST // 1_000_000} MB is read",
            limit=f"{LARGEST} bytes",
            way_out="Name a scenario file, or leave some of it out",
        )
    return decode(data, name)


def decode(data: bytes, name: str) -> str:
    """Return bytes as text; raise :class:`ScenarioError` where they are not UTF-8."""
    if b"\0" in data:
        raise fault(name, 1, "this is not a text file", limit="text in UTF-8", way_out="Save it as UTF-8 text")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        sign = data[error.start : error.end].hex()
        raise fault(name, line, "a sign is not UTF-8", value=sign, way_out="Save the file as UTF-8") from None


def forgive(text: str) -> str:
    """Return the text with the blank that is often forgotten in ``rings:{holds: coils}``; lines stay the same."""
    return _NO_BLANK.sub(r"\1: ", text)


def read_tree(text: str, name: str) -> Tree:
    """Return the plain values of a YAML text; raise :class:`ScenarioError` with every fault of its form."""
    return plain(nodes(text, name), name)


def plain(node: Node, name: str) -> Tree:
    """Return the plain values of the nodes of a YAML text, with their lines."""
    builder = _Builder(name)
    value = builder.value(node, ())
    if builder.faults:
        raise ScenarioError(builder.faults)
    return Tree(value, builder.lines, name)


class _Composer(Composer):
    """Stops at the first value too many, before the rest of a hostile file costs time."""

    count = 0

    def compose_node(self, parent: Any, index: Any) -> Any:  # noqa: ANN401 - as the library has it
        """Count a node, then read it."""
        self.count += 1
        if self.count > MOST:
            mark = self.parser.peek_event().start_mark
            raise MarkedYAMLError(problem=_TOO_MANY, problem_mark=mark)
        return super().compose_node(parent, index)


def nodes(text: str, name: str) -> Node:
    """Return the nodes of a YAML text; raise :class:`ScenarioError` where it is not one."""
    if len(text) > LARGEST:
        limit = f"{LARGEST} signs"
        raise fault(name, 0, "the text is larger than a scenario can be", limit=limit, way_out="Leave some of it out")
    try:
        yaml = YAML(typ="safe", pure=True)
        yaml.Composer = _Composer
        node: Node | None = yaml.compose(io.StringIO(forgive(text)))
    except RecursionError:
        limit = f"{DEEPEST} levels"
        raise fault(name, 1, "values are nested too deeply", limit=limit, way_out="Take levels out") from None
    except MarkedYAMLError as error:
        if error.problem == _TOO_MANY:
            raise _too_many(name, _error_line(error)) from None
        raise fault(name, _error_line(error), _plain_words(error), way_out=_way_out(error)) from None
    except YAMLError as error:
        raise _forbidden_sign(error, text, name) from None
    except ValueError as error:
        raise fault(name, 1, f"the file is not YAML: {shorten(error)}", way_out="See the examples") from None
    if node is None:
        raise fault(name, 1, "the file is empty", way_out="Begin with 'passline: 1'")
    return node


def _too_many(name: str, line: int) -> ScenarioError:
    limit = f"{MOST} values, those of aliases counted each time"
    return fault(name, line, _TOO_MANY, limit=limit, way_out=f"Keep it to {limit}")


def _forbidden_sign(error: YAMLError, text: str, name: str) -> ScenarioError:
    line = text.count("\n", 0, getattr(error, "position", 0)) + 1
    sign = f"sign {getattr(error, 'character', 0):#06x}"
    message = f"the file is not YAML: it holds {sign}, which no text may hold"
    return fault(name, line, message, value=sign, way_out="Take the sign out, or save it as plain text")


def _error_line(error: MarkedYAMLError) -> int:
    mark = error.problem_mark or error.context_mark
    return mark.line + 1 if mark is not None else 1


def _plain_words(error: MarkedYAMLError) -> str:
    problem = shorten(error.problem or error.context or "it is not YAML", 120)
    return f"the file is not YAML here: {problem}"


def _way_out(error: MarkedYAMLError) -> str:
    problem = error.problem or ""
    if "\\t" in problem or "tab" in problem:
        return "Indent with spaces, not with tabs"
    if "document" in problem:
        return "Keep one scenario in a file"
    if "alias" in problem:
        return "Write the value itself"
    return "Check the colons, the indentation, the brackets and the quotes around this line"


class _Builder:
    """Walks the nodes of a file."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.lines: dict[Path, int] = {}
        self.faults: list[Fault] = []
        self.count = 0
        self.open: set[int] = set()

    def value(self, node: Node, path: Path) -> Any:  # noqa: ANN401 - whatever the file holds
        self.count += 1
        self.lines.setdefault(path, node.start_mark.line + 1)
        if self.count > MOST:
            raise _too_many(self.file, node.start_mark.line + 1)
        if id(node) in self.open:
            return self._refuse(node, path, "a value that contains itself", "Write the value itself, without an alias")
        if len(path) > DEEPEST:
            return self._refuse(node, path, "values are nested too deeply", f"At most {DEEPEST} levels are taken")
        if not _has_plain_tag(node):
            return self._refuse(node, path, f"the tag {shorten(node.tag)} is not taken", "Leave the tag out")
        self.open.add(id(node))
        try:
            return self._inside(node, path)
        finally:
            self.open.discard(id(node))

    def _inside(self, node: Node, path: Path) -> Any:  # noqa: ANN401
        if isinstance(node, ScalarNode):
            value = scalar(node)
            steering = _steering(value, one_line=path == ("name",))
            return self._refuse(node, path, steering, "Take the sign out") if steering else value
        if isinstance(node, SequenceNode):
            return [self.value(item, (*path, number)) for number, item in enumerate(node.value)]
        return self._mapping(node, path) if isinstance(node, MappingNode) else None

    def _mapping(self, node: MappingNode, path: Path) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for key_node, value_node in node.value:
            key = whole(str(key_node.value)) if isinstance(key_node, ScalarNode) else ""
            line = key_node.start_mark.line + 1
            if not key.strip() or key.startswith("~") or len(key) > 80:
                self._refuse(key_node, path, f"'{shorten(key)}' is not a key", "A key is a word, at most 80 signs")
            elif steering := _steering(key, one_line=True):
                self._refuse(key_node, path, f"'{shorten(key)}' is not a key: {steering}", "Take the sign out")
            elif key_node.tag == f"{_PLAIN}merge" or key == "<<":
                self._refuse(key_node, path, "merge keys (<<) are not taken", "Write the values themselves")
            elif key in found:
                first = self.lines[(*path, key)]
                self._refuse(key_node, (*path, key), f"'{key}' stands twice, first on line {first}", "Keep one of them")
            else:
                self.lines[(*path, key)] = line
                found[key] = self.value(value_node, (*path, key))
        return found

    def _refuse(self, node: Node, path: Path, message: str, way_out: str) -> None:
        place = ".".join(str(step + 1) if isinstance(step, int) else step for step in path)
        self.faults.append(Fault(self.file, node.start_mark.line + 1, place, "", "", way_out, message))


def _steering(value: object, *, one_line: bool) -> str:
    """Return what is wrong with a text that would steer the screen it is shown on, else an empty text."""
    if not isinstance(value, str):
        return ""
    found = re.search(r"[\t\n]", value) if one_line else None
    found = found or _STEERING.search(value)
    return f"it holds sign {ord(found[0]):#06x}, which steers the screen and shows nothing" if found else ""


def _has_plain_tag(node: Node) -> bool:
    tag = str(node.tag or "")
    if isinstance(node, ScalarNode):
        return tag in {
            f"{_PLAIN}{kind}" for kind in ("str", "int", "float", "bool", "null", "timestamp", "merge", "value")
        }
    return tag in (f"{_PLAIN}seq", f"{_PLAIN}map")


def whole(text: str) -> str:
    """Return a text in which halves of signs, as escapes may write them, stand together or for an unknown sign."""
    return text.encode("utf-16", "surrogatepass").decode("utf-16", "replace")


def scalar(node: ScalarNode) -> str | int | float | bool | None:
    """Return the text, number, truth or nothing that a plain word of a file means."""
    text = whole(str(node.value))
    if node.style is not None or (node.tag == f"{_PLAIN}str" and not _NUMBER.fullmatch(text)):
        return text
    word = text.lower()
    if word in ("", "~", "null"):
        return None
    if word in ("true", "false"):
        return word == "true"
    if word in _ODD:
        return float(_ODD[word])
    if len(text) <= 40 and _NUMBER.fullmatch(text):
        return float(text) if any(sign in word for sign in ".e") else int(text)
    return text
