"""From the bytes of a YAML file to plain values, each with its line and column.

YAML turns `118.10` into 118.1, `0700` into 448 or 700, `12:30` into 750 and `no` into False, and
readers of version 1.1 and 1.2 disagree. Here a bare value is a number only if it is plainly
decimal, text only if every version reads it as text, and anything else stays `Ambiguous` until
its quotes are written. Aliases, tags and second documents are refused: no drill needs them, and
they are how a small file becomes a large one.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, StreamMark, YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    Event,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)
from ruamel.yaml.nodes import ScalarNode
from ruamel.yaml.reader import ReaderError
from ruamel.yaml.resolver import VersionedResolver

from drills.errors import DrillError, Path

SIZE_LIMIT = 256 * 1024
"""Bytes of the largest file that is read; a drill is about 2 kB."""

MOST_VALUES = 4_000
"""Keys and values of the largest file; a drill has about a hundred. More would take seconds."""

DEPTH_LIMIT = 8
"""Lists and mappings inside one another; a drill needs four."""

_TEXT = "tag:yaml.org,2002:str"
_RESOLVERS = {version: VersionedResolver(version=version) for version in ("1.1", "1.2")}
_WHOLE = re.compile(r"-?(0|[1-9]\d{0,14})")
_HALF_PAIR = re.compile(r"[\ud800-\udfff]")
_DECIMAL = re.compile(r"-?(0|[1-9]\d{0,14})\.\d{1,15}")


@dataclass(frozen=True)
class Ambiguous:
    """A bare value that YAML readers do not agree on, as it was written."""

    written: str


@dataclass
class Document:
    """A file's values, and where each stands. Lists become tuples; lines and columns count from 1."""

    file: str
    data: Any = None
    keys: dict[Path, tuple[int, int]] = field(default_factory=dict)
    values: dict[Path, tuple[int, int]] = field(default_factory=dict)
    bare: dict[Path, str] = field(default_factory=dict)
    """What was written for each value that stands without quotes."""

    def of_value(self, path: Path) -> tuple[int, int]:
        """Line and column of the value at the path, or of the nearest value around it."""
        while path and path not in self.values:
            path = path[:-1]
        return self.values.get(path, (1, 1))

    def of_key(self, path: Path) -> tuple[int, int]:
        return self.keys.get(path) or self.of_value(path)

    @property
    def first_key(self) -> str:
        return next(iter(self.data), "") if isinstance(self.data, dict) else ""


def read(path: FilePath) -> Document:
    """The document in a file; `DrillError` if it cannot be read or is not plain YAML."""
    label = str(path)
    try:
        if path.is_dir():
            raise DrillError("this is a folder", "name a drill or field file in it", label)
        if path.exists() and not path.is_file():
            raise DrillError("this is not an ordinary file", "name a drill or field file", label)
        with path.open("rb") as stream:
            return parse(stream.read(SIZE_LIMIT + 1), label)
    except FileNotFoundError:
        raise DrillError("there is no such file", "check the name and the folder", label) from None
    except (OSError, ValueError) as error:  # ValueError: a zero byte in the name
        why = getattr(error, "strerror", None) or str(error)
        raise DrillError(f"the file cannot be read ({why})", "check the name and its rights", label) from None


def parse(data: bytes, label: str) -> Document:
    """The document in these bytes; `label` is the file name that errors and findings carry."""
    if len(data) > SIZE_LIMIT:
        raise DrillError("the file is larger than 256 kB", "keep one drill or field in a file", label)
    text = _decode(data, label)
    if not text.strip():
        raise DrillError("the file is empty", 'begin with "drill:" or "field:"', label)
    try:
        return _build(text, label)
    except ReaderError as error:
        line, column = _place(text[: error.position])
        raise DrillError(
            f"a control character (code {ord(text[error.position])}) is not text",
            "delete it",
            label,
            line,
            column,
        ) from None
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = _position(mark) if mark else (1, 1)
        what = " ".join((error.problem or error.context or "unreadable").split())
        raise DrillError(
            f"this is not YAML ({what})", "check indentation, colons and quotes here", label, line, column
        ) from None
    except YAMLError:
        raise DrillError("this is not YAML", "compare it with a drill from the library", label) from None


def _decode(data: bytes, label: str) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line, column = _place(data[: error.start].decode("utf-8", "replace"))
        raise DrillError(
            f"the byte 0x{data[error.start]:02x} is not UTF-8",
            "save the file as UTF-8 text",
            label,
            line,
            column,
        ) from None


def _place(before: str) -> tuple[int, int]:
    """Line and column of what follows this text."""
    return before.count("\n") + 1, len(before) - (before.rfind("\n") + 1) + 1


def _position(mark: StreamMark) -> tuple[int, int]:
    return mark.line + 1, mark.column + 1


def _build(text: str, label: str) -> Document:
    document = Document(label)
    reader = YAML(typ="safe", pure=True)
    events = _allowed(reader.parse(text), label)
    for event in events:
        document.data = _value(event, events, (), document)
    if not isinstance(document.data, dict):
        line, column = document.of_value(())
        raise DrillError("the file holds no keys", 'begin with "drill:" or "field:"', label, line, column)
    return document


def _allowed(events: Iterator[Event], label: str) -> Iterator[Event]:
    """The events that make values; `DrillError` at the first that no drill needs."""
    depth = documents = 0
    for number, event in enumerate(events):
        refusal = None
        if number > MOST_VALUES:
            refusal = (
                f"the file holds more than {MOST_VALUES} keys and values",
                "keep one drill or field in a file",
            )
        elif isinstance(event, DocumentStartEvent):
            documents += 1
            if documents > 1:
                refusal = "a second document begins", 'keep one in a file and delete "---"'
        elif isinstance(event, AliasEvent) or getattr(event, "anchor", None) is not None:
            refusal = "anchors and aliases (& and *) are not read", "write the value out"
        elif getattr(event, "ctag", None) is not None:
            refusal = "tags (!) are not read", "write the plain value"
        elif isinstance(event, ScalarEvent) and _HALF_PAIR.search(event.value):
            refusal = "an escape stands for half a character", "write the character itself"
        elif isinstance(event, MappingStartEvent | SequenceStartEvent):
            depth += 1
            if depth > DEPTH_LIMIT:
                refusal = f"lists and keys are nested more than {DEPTH_LIMIT} deep", "flatten them"
        elif isinstance(event, MappingEndEvent | SequenceEndEvent):
            depth -= 1
        if refusal:
            raise DrillError(*refusal, label, *_position(event.start_mark))
        if isinstance(
            event,
            ScalarEvent | MappingStartEvent | MappingEndEvent | SequenceStartEvent | SequenceEndEvent,
        ):
            yield event


def _value(event: Event, events: Iterator[Event], path: Path, document: Document) -> Any:
    """The value that begins with this event; takes the rest of its events."""
    document.values[path] = _position(event.start_mark)
    if isinstance(event, SequenceStartEvent):
        items: list[Any] = []
        for following in events:
            if isinstance(following, SequenceEndEvent):
                break
            items.append(_value(following, events, (*path, len(items)), document))
        return tuple(items)
    if isinstance(event, MappingStartEvent):
        return _mapping(events, path, document)
    if isinstance(event, ScalarEvent) and event.style is None:
        document.bare[path] = event.value
        return _scalar(event, path, document)
    return getattr(event, "value", None)


def _mapping(events: Iterator[Event], path: Path, document: Document) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for event in events:
        if isinstance(event, MappingEndEvent):
            break
        line, column = _position(event.start_mark)
        if not isinstance(event, ScalarEvent):
            raise DrillError("a key must be a word", "write KEY: VALUE", document.file, line, column)
        key = event.value
        if key in found:
            raise DrillError(
                f'the key "{key}" stands here a second time (first in line {document.keys[(*path, key)][0]})',
                "keep one of the two",
                document.file,
                line,
                column,
            )
        document.keys[(*path, key)] = line, column
        found[key] = _value(next(events), events, (*path, key), document)
    return found


def _scalar(event: ScalarEvent, path: Path, document: Document) -> Any:
    written = event.value
    if _WHOLE.fullmatch(written):
        return int(written)
    if _DECIMAL.fullmatch(written):
        return float(written)
    if all(_tag(written, version) == _TEXT for version in _RESOLVERS):
        return written
    if _tag(written, "1.2") == "tag:yaml.org,2002:null":
        line, column = document.of_key(path) if not written else _position(event.start_mark)
        raise DrillError(
            "there is no value here", "write one, or delete the key", document.file, line, column
        )
    return Ambiguous(written)


def _tag(written: str, version: str) -> str:
    return str(_RESOLVERS[version].resolve(ScalarNode, written, (True, False)))
