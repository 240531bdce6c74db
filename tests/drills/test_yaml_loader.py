"""Bytes to values: nothing is guessed, everything has a place, and no file makes a traceback."""

import os
from pathlib import Path

import pytest

from drills.errors import DrillError
from drills.loader import SIZE_LIMIT, Ambiguous, parse, read


def test_values_and_their_places() -> None:
    document = parse(b'drill: x\nlist:\n  - 31\n  - "31"\n  - 2.5\n  - plain text\n', "f")
    assert document.data == {"drill": "x", "list": (31, "31", 2.5, "plain text")}
    assert [type(item) for item in document.data["list"]] == [int, str, float, str]
    assert document.of_key(("list",)) == (2, 1)
    assert document.of_value(("list", 1)) == (4, 5)
    assert document.of_value(("list", 1, "not", "there")) == (4, 5)
    assert document.first_key == "drill"


@pytest.mark.parametrize(
    "written",
    ["0700", "12:30", "no", "yes", "on", "y", "1_000", "0x1f", "0o17", "1e5", ".5", "true", "2020-01-01"],
)
def test_what_yaml_readers_disagree_on_is_not_read(written: str) -> None:
    assert parse(f"a: {written}".encode(), "f").data == {"a": Ambiguous(written)}
    assert parse(f'a: "{written}"'.encode(), "f").data == {"a": written}


def test_a_number_too_long_for_a_number_is_not_read() -> None:
    assert parse(b"a: " + b"9" * 6000, "f").data == {"a": Ambiguous("9" * 6000)}


def test_a_byte_order_mark_is_no_part_of_the_first_key() -> None:
    assert parse(b"\xef\xbb\xbfdrill: x", "f").first_key == "drill"


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", 'f:1:1: the file is empty; begin with "drill:" or "field:".'),
        (b" \n\n", 'f:1:1: the file is empty; begin with "drill:" or "field:".'),
        (b"# nothing\n", 'f:1:1: the file holds no keys; begin with "drill:" or "field:".'),
        (b"- 1\n- 2", 'f:1:1: the file holds no keys; begin with "drill:" or "field:".'),
        (b"a: &x 1\nb: *x", "f:1:4: anchors and aliases (& and *) are not read; write the value out."),
        (b"a: !!str 31", "f:1:4: tags (!) are not read; write the plain value."),
        (b"a: !!python/name:os.system ''", "f:1:4: tags (!) are not read; write the plain value."),
        (b"x: 1\na:\nb: 1", "f:2:1: there is no value here; write one, or delete the key."),
        (b"a: null", "f:1:4: there is no value here; write one, or delete the key."),
        (
            b"a: 1\nb: 2\na: 3",
            'f:3:1: the key "a" stands here a second time (first in line 1); keep one of the two.',
        ),
        (b"a: 1\n---\nb: 2", 'f:2:1: a second document begins; keep one in a file and delete "---".'),
        (b"? [a]\n: 1", "f:1:3: a key must be a word; write KEY: VALUE."),
        (b"a: 1\nb: \xff", "f:2:4: the byte 0xff is not UTF-8; save the file as UTF-8 text."),
        (b"a: 1\nb: x\x07y", "f:2:5: a control character (code 7) is not text; delete it."),
        (
            b'"\\ud800": 1',
            "f:1:1: an escape stands for half a character; write the character itself.",
        ),
        (b"a: " + b"[" * 5000, "f:1:11: lists and keys are nested more than 8 deep; flatten them."),
        (
            b"#" * (SIZE_LIMIT + 1),
            "f:1:1: the file is larger than 256 kB; keep one drill or field in a file.",
        ),
    ],
)
def test_refusals(data: bytes, said: str) -> None:
    with pytest.raises(DrillError) as refused:
        parse(data, "f")
    assert str(refused.value) == said


@pytest.mark.parametrize(
    ("data", "line", "column"), [(b"a: [1, 2\nb: 3", 2, 2), (b'a: "x', 1, 6), (b"a: 1\n\tb: 2", 2, 1)]
)
def test_what_is_not_yaml_is_refused_where_it_stops_being_so(data: bytes, line: int, column: int) -> None:
    with pytest.raises(
        DrillError, match=r"this is not YAML \(.+\); check indentation, colons and quotes here"
    ) as no:
        parse(data, "f")
    assert (no.value.line, no.value.column) == (line, column)


def test_a_file_at_the_size_limit_is_read() -> None:
    text = b"a: 1\n"
    assert parse(text + b"#" * (SIZE_LIMIT - len(text)), "f").data == {"a": 1}


def test_files_that_are_none(tmp_path: Path) -> None:
    fifo = tmp_path / "fifo"
    os.mkfifo(fifo)
    for path, said in [
        (tmp_path, "this is a folder"),
        (tmp_path / "absent.yaml", "there is no such file"),
        (fifo, "this is not an ordinary file"),
        (tmp_path / "zero\0byte", "the file cannot be read"),
    ]:
        with pytest.raises(DrillError, match=said) as refused:
            read(path)
        assert refused.value.file == str(path)


def test_text_that_a_terminal_cannot_show_does_not_reach_it() -> None:
    said = str(DrillError('odd "\ud800\x1b[2J"', "delete it", "f"))
    said.encode("utf-8")
    assert said.isprintable()
