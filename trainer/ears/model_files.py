"""Is this directory a model, and whole? Asked before libvosk sees it, which would end the process."""

import hashlib
import struct
import subprocess
import sys
from pathlib import Path

from trainer.ears.errors import ModelError

SHIPPED_MODEL = Path(__file__).with_name("model")
"""The model that comes with the package."""

MANIFEST = "manifest.sha256"

_REINSTALL = "install patternvoice again"
_FETCH_AGAIN = "unpack or download the model again"
_PROBE = """
import sys, vosk
vosk.SetLogLevel(-1)
recogniser = vosk.KaldiRecognizer(vosk.Model(sys.argv[1]), 16000.0, '["[unk]"]')
recogniser.AcceptWaveform(bytes(16000))
recogniser.FinalResult()
"""


def check_manifest(folder: Path) -> None:
    """Compare a model of ours with its checksums (`sha256sum` form); ModelError names the first bad file."""
    try:
        lines = (folder / MANIFEST).read_text(encoding="ascii").splitlines()
        sums = [(each[1], each[0]) for each in (line.split(maxsplit=1) for line in lines)]
    except (UnicodeDecodeError, IndexError) as error:
        raise ModelError(folder / MANIFEST, "is no list of checksums", _REINSTALL) from error
    except OSError as error:
        raise ModelError(
            folder, f"is not a model of this program (it has no {MANIFEST})", _REINSTALL
        ) from error
    for name, wanted in sums:
        try:
            if not (folder / name).resolve().is_relative_to(folder.resolve()):
                raise ModelError(folder / MANIFEST, "names a file outside the model", _REINSTALL)
            found = hashlib.sha256((folder / name).read_bytes()).hexdigest()
        except (OSError, ValueError) as error:  # ValueError: a zero byte in the name
            raise ModelError(folder / name, "is missing", _REINSTALL) from error
        if found != wanted:
            raise ModelError(folder / name, "is cut short or was changed", _REINSTALL)


def is_our_make(folder: Path) -> bool:
    """It has what a graph is written from, and checksums: a model of `trainer.ears.training`."""
    return (folder / MANIFEST).is_file() and (folder / "lexicon.txt").is_file()


def _network_is_whole(path: Path) -> bool:
    """Kaldi's binary nnet3 file ends with a vector of priors that fills the file exactly."""
    data = path.read_bytes()
    if not data.startswith(b"\0B"):
        return bool(data)  # the text form has no such mark; loading will show
    at = data.rfind(b"<Priors> FV \x04")
    if at < 0:
        return False
    at += len(b"<Priors> FV \x04")
    return len(data) >= at + 4 and len(data) == at + 4 + 4 * int(struct.unpack_from("<i", data, at)[0])


def check_model_files(folder: Path) -> None:
    """Raise ModelError unless the folder has a Vosk model's files, none empty, the network whole."""
    if (folder / "am" / "final.mdl").is_file():
        network, conf, graph = folder / "am" / "final.mdl", folder / "conf", folder / "graph"
    elif (folder / "final.mdl").is_file():  # the older layout: all in one place
        network, conf, graph = folder / "final.mdl", folder, folder
    else:
        raise ModelError(
            folder,
            "is not a Vosk model (it has no am/final.mdl)",
            "give the folder that holds am, conf and graph",
        )
    graphs = [graph / "HCLG.fst"]
    if not graphs[0].exists():
        graphs = [graph / "HCLr.fst", graph / "Gr.fst"]
    for path in (network, conf / "mfcc.conf", *graphs):
        if not path.is_file():
            raise ModelError(path, "is missing", _FETCH_AGAIN)
        if path.stat().st_size == 0:
            raise ModelError(path, "is empty", _FETCH_AGAIN)
    if not _network_is_whole(network):
        raise ModelError(network, "is cut short", _FETCH_AGAIN)


def probe_model(folder: Path, timeout: float = 300.0) -> None:
    """Load it in a process of its own, where a crash inside libvosk does no harm; ModelError on failure.

    `timeout` is in seconds: the largest models take minutes to load from a slow disk.
    """
    command = [sys.executable, "-c", _PROBE, str(folder)]
    try:
        done = subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, timeout=timeout)
    except subprocess.TimeoutExpired as error:
        raise ModelError(
            folder, f"does not load within {timeout:.0f} seconds", "use a smaller model"
        ) from error
    if done.returncode != 0:
        raise ModelError(folder, "is damaged or no Vosk model: the speech library fails on it", _FETCH_AGAIN)
