"""Whatever the bytes: findings with a place and a remedy, or a sound file; never a traceback."""

from importlib import resources
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from drills.check import check_file, drill_names, load_drill, load_field
from drills.errors import DrillError

LIBRARY = [
    *((resources.files("drills") / "library" / f"{name}.yaml").read_bytes() for name in drill_names()),
    (resources.files("drills") / "fields" / "corbel.yaml").read_bytes(),
]
SIGNS = [
    b"",
    b":",
    b"- ",
    b"\n",
    b"  ",
    b'"',
    b"'",
    b"{",
    b"]",
    b"&a ",
    b"*a",
    b"!!int ",
    b"|",
    b"%",
    b"\t",
    b"#",
]
VALUES = [
    b"no",
    b"0700",
    b"12:30",
    b"null",
    b"31",
    b"-1",
    b"1e999",
    b"<<",
    b"=",
    b"? ",
    b"---",
    b"...",
    b"QUARRY",
    b"any",
]
BYTES = [b"\xc2\x85", b"\xef\xbb\xbf", b'"\\ud800"', b"\xff", b"\x00", b"\xed\xa0\x80"]
SNIPPETS = st.one_of(st.sampled_from([*SIGNS, *VALUES, *BYTES]), st.binary(max_size=8))
anything = settings(
    max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def holds(folder: Path, data: bytes) -> None:
    path = folder / "made.yaml"
    path.write_bytes(data)
    lines = data.decode("utf-8", "replace").splitlines() or [""]
    findings = check_file(path)
    for finding in findings:
        assert finding.message
        assert finding.remedy
        assert 1 <= finding.line <= len(lines) + 1
        assert finding.column >= 1
        sentence = str(finding)
        assert sentence.encode()
        assert sentence.isprintable()
    for load in (load_drill, load_field):
        try:
            load(path)
        except DrillError as error:
            assert str(error).startswith(f"{path}:{error.line}:")


@anything
@given(st.binary(max_size=400))
def test_random_bytes(tmp_path: Path, data: bytes) -> None:
    holds(tmp_path, data)


@anything
@given(st.text(st.sampled_from("ab01:-[]{}&*!|>'\"%@`#,? \n\t\\~<=."), max_size=80))
def test_random_yaml_like_text(tmp_path: Path, text: str) -> None:
    holds(tmp_path, b"drill: " + text.encode())
    holds(tmp_path, text.encode())


@anything
@given(st.sampled_from(LIBRARY), st.data())
def test_mutations_of_the_library(tmp_path: Path, text: bytes, data: st.DataObject) -> None:
    for _ in range(data.draw(st.integers(1, 3))):
        start = data.draw(st.integers(0, len(text)))
        cut = data.draw(st.integers(0, 12))
        text = text[:start] + data.draw(SNIPPETS) + text[start + cut :]
    holds(tmp_path, text)


@anything
@given(st.sampled_from(LIBRARY), st.data())
def test_lines_of_the_library_dropped_doubled_and_moved(
    tmp_path: Path, text: bytes, data: st.DataObject
) -> None:
    lines = text.splitlines(keepends=True)
    first = data.draw(st.integers(0, len(lines) - 1))
    second = data.draw(st.integers(0, len(lines) - 1))
    how = data.draw(st.sampled_from(["drop", "double", "swap", "indent"]))
    if how == "drop":
        del lines[first]
    elif how == "double":
        lines.insert(second, lines[first])
    elif how == "swap":
        lines[first], lines[second] = lines[second], lines[first]
    else:
        lines[first] = b"  " + lines[first]
    holds(tmp_path, b"".join(lines))
