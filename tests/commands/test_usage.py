"""A wrong command line gets one sentence that names the word and the command whose help says more."""

import io
import sys

import pytest

from trainer.cli import main


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ("flyy", 'there is no command "flyy": did you mean "fly"? Try: patternvoice --help'),
        ("logbook lst", 'there is no command "lst": did you mean "list"? Try: patternvoice logbook --help'),
        ("fly extra", '"fly" has no use for "extra". Try: patternvoice fly --help'),
        ("fly --seed x", '--seed must be a whole number, not "x". Try: patternvoice fly --help'),
        ("fly --seed", "--seed needs a value. Try: patternvoice fly --help"),
        ("logbook backup", '"logbook backup" needs OUT. Try: patternvoice logbook backup --help'),
        ("pattern --svg /no/x.svg", 'cannot use "/no/x.svg" (No such file or directory): see to this file'),
    ],
)
def test_one_sentence(words: str, sentence: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(words.split())
    assert ended.value.code == 2
    assert sentence in capsys.readouterr().err


def test_a_terminal_without_arrows_gets_question_marks(monkeypatch: pytest.MonkeyPatch) -> None:
    written = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(written, encoding="ascii", write_through=True))
    with pytest.raises(SystemExit) as ended:
        main(["pattern"])
    assert ended.value.code == 0
    assert b"208 ? 125" in written.getvalue()
