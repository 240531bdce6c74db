"""Which model is heard with: the list, the choice and what is kept of it, and what is wrong with any of it."""

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from trainer.compose import open_ears
from trainer.ears.errors import ModelError
from trainer.ears.model_files import SHIPPED_MODEL
from trainer.ears.vosk_ears import OwnGraphRecogniser, UserModelRecogniser
from trainer.errors import TrainerError
from trainer.models import EMBEDDED, chosen_model, installed_models, model_lines, use_model
from trainer.settings import Settings, load_settings, save_settings, settings_file


@pytest.fixture(autouse=True)
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("PATTERNVOICE_DATA", str(tmp_path / "data"))
    return tmp_path / "data"


def foreign(folder: Path) -> Path:
    """A Vosk model as others make it: nothing of what our own graphs are written from."""
    shutil.copytree(SHIPPED_MODEL, folder, ignore=shutil.ignore_patterns("lexicon.txt", "manifest.sha256"))
    return folder


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", "from trainer.cli import main; main()", *arguments]
    root = Path(__file__).parent.parent
    return subprocess.run(command, capture_output=True, text=True, timeout=120, cwd=root)


def test_at_first_there_is_the_embedded_one_and_it_is_used() -> None:
    (only,) = installed_models()
    assert (only.name, only.folder, only.problem, only.in_use) == (EMBEDDED, SHIPPED_MODEL, None, True)
    assert only.size == sum(path.stat().st_size for path in SHIPPED_MODEL.rglob("*") if path.is_file())
    assert chosen_model() is None
    assert isinstance(open_ears(chosen_model()), OwnGraphRecogniser)


def test_a_model_of_the_data_folder_is_used_by_name_until_another_is(data: Path, tmp_path: Path) -> None:
    small = foreign(data / "models" / "small")
    (data / "models" / ".fetch-half").mkdir()
    used = use_model("small")
    assert (used.name, used.in_use) == ("small", True)
    assert chosen_model() == small
    assert isinstance(open_ears(chosen_model()), UserModelRecogniser)
    assert json.loads(settings_file().read_text())["model"] == "small", "the data folder may be moved"
    assert chosen_model(named=tmp_path) == tmp_path, "the command line goes before it"
    lines = model_lines(installed_models())
    assert [line.split()[:2] for line in lines] == [
        [EMBEDDED, f"{installed_models()[0].size / 1e6:.1f}"],
        ["*", "small"],
    ]
    assert lines[1].endswith("complete  (in use)")
    assert use_model(EMBEDDED).in_use
    assert chosen_model() is None


def test_a_folder_elsewhere_is_used_and_listed_wherever_one_stands(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    elsewhere = foreign(tmp_path / "elsewhere")
    monkeypatch.chdir(tmp_path)
    assert use_model("elsewhere").name == str(elsewhere)
    monkeypatch.chdir("/")
    assert chosen_model() == elsewhere
    assert [model.name for model in installed_models()] == [EMBEDDED, str(elsewhere)]
    shutil.rmtree(elsewhere)
    with pytest.raises(TrainerError, match=r"no longer in .*elsewhere: .* patternvoice model use embedded"):
        chosen_model()
    assert "is not a Vosk model" in str(installed_models()[1].problem)


def test_a_model_of_our_make_is_heard_with_by_its_graph(tmp_path: Path) -> None:
    assert isinstance(open_ears(Path(shutil.copytree(SHIPPED_MODEL, tmp_path / "ours"))), OwnGraphRecogniser)


def test_what_is_no_model_is_refused_and_the_choice_stays(data: Path, tmp_path: Path) -> None:
    cut = foreign(data / "models" / "cut")
    (cut / "am" / "final.mdl").write_bytes((cut / "am" / "final.mdl").read_bytes()[:100_000])
    for name, says in (
        ("cut", r"final\.mdl is cut short"),
        (str(tmp_path), "is not a Vosk model"),
        ("..", "is not a Vosk model"),
    ):
        with pytest.raises(ModelError, match=says):
            use_model(name)
    with pytest.raises(TrainerError, match='no model "nowhere": name a folder, or one of: embedded, cut'):
        use_model("nowhere")
    assert chosen_model() is None
    assert "cut short" in model_lines(installed_models())[1]


BROKEN = {
    "no JSON": b"{",
    "unknown key": b'{"modle": "small"}',
    "wrong kind": b'{"model": 3}',
    "a list": b"[]",
    "empty": b"",
    "bytes": b"\xff\xfe\x00",
}


@pytest.mark.parametrize("kind", BROKEN)
def test_a_broken_settings_file_is_one_sentence_and_the_usual_settings(
    data: Path, kind: str, capsys: pytest.CaptureFixture[str]
) -> None:
    data.mkdir()
    settings_file().write_bytes(BROKEN[kind])
    assert chosen_model() is None
    (line,) = capsys.readouterr().err.splitlines()
    assert line.startswith(f"patternvoice: {settings_file()} is broken (")
    assert line.endswith("mend or delete it; going on with the usual settings.")
    use_model(EMBEDDED)
    assert load_settings() == (Settings(), None), "a new choice mends it"


def test_settings_are_written_whole_or_not_at_all(data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    save_settings(Settings(model="first"))

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", full)
    with pytest.raises(TrainerError, match=r"settings\.json cannot be written \(No space left on device\)"):
        save_settings(Settings(model="second"))
    assert load_settings() == (Settings(model="first"), None)
    assert [path.name for path in data.iterdir()] == ["settings.json"]


def test_the_commands(data: Path, tmp_path: Path) -> None:
    foreign(data / "models" / "small")
    used = run("model", "use", "small")
    assert (used.returncode, used.stderr) == (0, "")
    assert "small" in used.stdout
    listed = run("model", "list")
    assert listed.returncode == 0
    assert [line[0] for line in listed.stdout.splitlines()[:2]] == [" ", "*"]
    shutil.rmtree(data / "models" / "small")
    gone = run("hear", str(tmp_path / "call.wav"))
    assert gone.returncode == 2
    assert gone.stderr.startswith("patternvoice: the model that you chose is no longer in ")
    assert len(gone.stderr.splitlines()) == 1
    assert run("model", "use", "nowhere").returncode == 2
    settings_file().write_text("{")
    unread = run("hear", str(tmp_path / "call.wav"))
    assert [line.split()[1] for line in unread.stderr.splitlines()] == [str(settings_file()), "there"]
