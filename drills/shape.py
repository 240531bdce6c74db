"""From a document to a model, every complaint of the model at its line and column with a remedy."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, TypeVar, get_args, get_origin

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    StringConstraints,
    ValidationError,
)
from pydantic_core import CoreSchema, ErrorDetails, PydanticCustomError, core_schema

from drills.errors import Finding, Path, Problem, Severity, quoted
from drills.loader import Ambiguous, Document
from phraseology.suggesting import nearest

Model = TypeVar("Model", bound="Written")


class Written(BaseModel):
    """A part of a file: no unknown keys, no guessing of types, not changed after reading."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


def rule(message: str, remedy: str) -> PydanticCustomError:
    """What a validator raises: the complaint and what to write instead."""
    return PydanticCustomError("rule", "{message}; {remedy}", {"message": message, "remedy": remedy})


@dataclass(frozen=True)
class Matching:
    """Annotation of a text that matches the whole pattern; `what` it is not if it does not."""

    pattern: str
    what: str
    remedy: str

    def _check(self, text: str) -> str:
        if not re.fullmatch(self.pattern, text):
            raise rule(f"{quoted(text)} is not {self.what}", self.remedy)
        return text

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_after_validator_function(self._check, handler(source))

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return {"type": "string", "pattern": f"^{self.pattern}$"}


def _one_line(text: str) -> str:
    line = " ".join(text.split())
    if not line:
        raise rule("there is no text here", "write a few words")
    if not line.isprintable():
        raise rule("the text holds a character that cannot be shown", "delete it")
    return line


Text = Annotated[str, StringConstraints(max_length=500), AfterValidator(_one_line)]
"""Words for people to read: up to 500 characters, line breaks are spaces."""


def shape(model: type[Model], document: Document) -> Model | list[Finding]:
    """The document as the model, or everything that keeps it from being one, in file order."""
    try:
        return model.model_validate(document.data)
    except ValidationError as error:
        details = error.errors(include_url=False)
        misspelt = {
            (*detail["loc"][:-1], _meant(tuple(detail["loc"]), model))
            for detail in details
            if detail["type"] == "extra_forbidden"
        }
        findings = [
            _finding(detail, model, document)
            for detail in details
            if (detail["type"] != "missing" or detail["loc"] not in misspelt)
            and (detail["type"] != "too_short" or not _has_items(tuple(detail["loc"]), document))
        ]
        return sorted(findings, key=lambda finding: (finding.line, finding.column))


def _has_items(path: Path, document: Document) -> bool:
    """The list is not empty in the file: what is wrong with its items is said of them."""
    return (*path, 0) in document.values or any(
        len(key) > len(path) and key[: len(path)] == path for key in document.keys
    )


def locate(problem: Problem, document: Document) -> Finding:
    """A problem at a path becomes a finding at a line and column."""
    line, column = document.of_value(problem.path)
    return Finding(problem.severity, document.file, line, column, problem.message, problem.remedy)


def _finding(detail: ErrorDetails, model: type[BaseModel], document: Document) -> Finding:
    path: Path = tuple(detail["loc"])
    kind = detail["type"]
    if kind == "extra_forbidden":
        line, column = document.of_key(path)
        message, remedy = f"{quoted(path[-1])} is not a key here", _known_keys(model, path)
    elif kind == "missing":
        line, column = document.of_key(path[:-1])
        message, remedy = f'"{path[-1]}" is missing', f'add "{path[-1]}: ..." ({_meaning(model, path)})'
    else:
        line, column = document.of_key(path[:-1]) if path[-1:] == ("[key]",) else document.of_value(path)
        message, remedy = _complaint(detail, path, document)
    return Finding(Severity.ERROR, document.file, line, column, message, remedy)


def _complaint(detail: ErrorDetails, path: Path, document: Document) -> tuple[str, str]:
    """What is wrong with a value, and what to write instead."""
    kind, value, context = detail["type"], detail["input"], detail.get("ctx", {})
    name = next((str(step) for step in reversed(path) if isinstance(step, str)), "the file")
    shown = quoted(document.bare.get(path, value.written if isinstance(value, Ambiguous) else value))
    if kind == "rule":
        return str(context["message"]), str(context["remedy"])
    if kind == "string_type" and path in document.bare:
        return f"{name}: YAML does not read a bare {shown[1:-1]} as text", f"write it in quotes: {shown}"
    say = _SENTENCES.get(kind)
    if say is None:
        return f"{name}: {detail['msg']}", "see the drill format"
    if isinstance(value, dict | tuple):
        shown = "a list" if isinstance(value, tuple) else "a group of keys"
    return say(name, shown, context)


_Sentence = Callable[[str, str, dict[str, Any]], tuple[str, str]]


def _type(wanted: str) -> _Sentence:
    return lambda name, shown, _: (f"{name} cannot be {shown}", f"write {wanted}")


def _bound(words: str, key: str) -> _Sentence:
    return lambda name, shown, context: (
        f"{name} cannot be {shown}",
        f"write a number {words} {context[key]:g}",
    )


def _choice(name: str, shown: str, context: dict[str, Any]) -> tuple[str, str]:
    choices = context["expected"].replace("'", "")
    listed = choices.replace(" or ", ", ").split(", ")
    likely = nearest(shown.strip('"'), listed)
    if likely:
        return f"{name} cannot be {shown}", f'did you mean "{likely}"? The choices are: {choices}'
    return f"{name} cannot be {shown}", f"write {choices}"


_SENTENCES: dict[str, _Sentence] = {
    "string_type": _type("text"),
    "int_type": _type("a whole number without quotes, such as 20"),
    "float_type": _type("a number without quotes, such as 2.5"),
    "tuple_type": _type('a list, each item on its own line after "- "'),
    "dict_type": _type("a group of keys, indented under it"),
    "model_type": _type("a group of keys, indented under it"),
    "literal_error": _choice,
    "greater_than_equal": _bound("of at least", "ge"),
    "greater_than": _bound("above", "gt"),
    "less_than_equal": _bound("of at most", "le"),
    "too_short": lambda name, shown, context: (f"{name} is an empty list", "add an item"),
    "too_long": lambda name, shown, context: (
        f"{name} has more than {context['max_length']} items",
        "shorten the list",
    ),
    "string_too_long": lambda name, shown, context: (
        f"{name} is longer than {context['max_length']} characters",
        "shorten it",
    ),
}


def _parts(annotation: Any) -> list[type[BaseModel]]:
    """The models inside an annotation such as `tuple[Runway, ...]` or `dict[str, Point]`."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    if get_origin(annotation) is None:
        return []
    return [part for argument in get_args(annotation) for part in _parts(argument)]


def _around(model: type[BaseModel], path: Path) -> type[BaseModel]:
    """The model whose key the last step of the path is."""
    here = model
    for step in path[:-1]:
        found = [_parts(f.annotation) for name, f in here.model_fields.items() if (f.alias or name) == step]
        if found and found[0]:
            here = found[0][0]
    return here


def _keys(model: type[BaseModel], path: Path) -> list[str]:
    return [field.alias or name for name, field in _around(model, path).model_fields.items()]


def _meant(path: Path, model: type[BaseModel]) -> str | None:
    """The key that an unknown one probably stands for."""
    return nearest(str(path[-1]), _keys(model, path))


def _known_keys(model: type[BaseModel], path: Path) -> str:
    likely = _meant(path, model)
    if likely:
        return f'write "{likely}" or delete it'
    return f"delete it; the keys are: {', '.join(_keys(model, path))}"


def _meaning(model: type[BaseModel], path: Path) -> str:
    for name, field in _around(model, path).model_fields.items():
        if (field.alias or name) == path[-1]:
            return (field.description or "").rstrip(".")
    return ""
