"""The command line: thin. Parses words, calls one function, prints, chooses the exit status.

Exit status: 0 done (or accepted), 1 not accepted (or findings), 2 bad usage or bad input.
"""

import json
import sys
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Annotated, Literal

from cyclopts import App, CycloptsError, Parameter

from trainer.errors import KNOWN_ERRORS, TrainerError
from trainer.question import STANDARDS_HELP, Question


def _version() -> str:
    try:
        return version("patternvoice")
    except PackageNotFoundError:
        return "not installed"


app = App(
    name="patternvoice",
    version=_version,
    help="Hands-free practice of the radio calls of the overhead pattern."
    " A training aid, not for use in flight.",
    version_flags=["--version"],
)
model = App(name="model", help="Speech models.")
app.command(model)

Pace = Literal["real", "quick", "patient"]
Seed = Annotated[int, Parameter(help="The same seed gives the same session.")]
ModelDir = Annotated[
    Path | None,
    Parameter(name="--model", help="A Vosk model directory to hear with, instead of the one in use."),
]

Json = Annotated[bool, Parameter(name="--json", negative=())]
Due = Annotated[Question, Parameter(name="*")]
ANYTHING = Question()


@app.command
def demo(
    *,
    seed: Seed = 1,
    out: Annotated[Path | None, Parameter(help="Folder for the WAV.")] = None,
    model_dir: ModelDir = None,
) -> int:
    """Fly a whole drill with a synthetic trainee: no sound card, no keys. One call is wrong, one unclear."""
    from trainer.demo import run_demo

    return run_demo(seed=seed, out=out, model=model_dir)


@app.command
def fly(
    *,
    pace: Annotated[Pace | None, Parameter(help="How time runs between calls.")] = None,
    seed: Seed = 1,
    callsign: Annotated[str | None, Parameter(help='For instance "SABLE 21".')] = None,
    drill: Annotated[str | None, Parameter(help="A drill's name or file; without it, free flight.")] = None,
    field: Annotated[str, Parameter(help="The field of free flight.")] = "corbel",
    runway: Annotated[str, Parameter(help="The runway of free flight.")] = "31",
    model_dir: ModelDir = None,
    typed: Annotated[
        bool, Parameter(negative=(), help="No microphone: type the calls, hear the tower.")
    ] = False,
    no_sound: Annotated[
        bool, Parameter(negative=(), help="Neither microphone nor speaker: type the calls.")
    ] = False,
) -> int:
    """Fly with your own voice: hands-free, with a talk key or button, or by a typed line."""
    from trainer.live import fly as fly_live
    from trainer.models import chosen_model

    return fly_live(
        drill=drill,
        callsign=callsign,
        field=field,
        runway=runway,
        pace=pace,
        seed=seed,
        model=chosen_model(model_dir) if not (typed or no_sound) else None,
        sound=not no_sound,
        typed=typed,
    )


@app.command
def assess(
    *,
    said: Annotated[str | None, Parameter(help="What the pilot said, in words.")] = None,
    wav: Annotated[Path | None, Parameter(help="What the pilot said, as 16 kHz 16-bit mono WAV.")] = None,
    question: Due = ANYTHING,
    as_json: Json = False,
    model_dir: ModelDir = None,
) -> int:
    """Judge one call, or the answer to one message. Exit status 0 accepted, 1 not accepted, 2 bad usage."""
    from trainer.account import assessment_lines
    from trainer.judging import judge
    from trainer.models import chosen_model

    assessment = judge(question, said=said, wav=wav, model=chosen_model(model_dir) if wav else None)
    if as_json:
        print(json.dumps(assessment.as_json(), ensure_ascii=False, indent=2))
    else:
        print("\n".join(assessment_lines(assessment)))
    return 0 if assessment.accepted else 1


@app.command
def hear(
    *files: Annotated[Path, Parameter(help="WAV files, one call each, or folders of them.")],
    question: Due = ANYTHING,
    as_json: Json = False,
    model_dir: ModelDir = None,
) -> int:
    """Hear recordings, judged if --call or --after. Status 1 not accepted, 2 unreadable."""
    from trainer.compose import open_ears
    from trainer.hearing_files import hear_files
    from trainer.models import chosen_model

    return hear_files(files, question, lambda: open_ears(chosen_model(model_dir)), as_json=as_json)


@app.command
def explain(
    *name: Annotated[
        str, Parameter(help='A call or a reply: "gear_report", "gear report", "closed-approved".')
    ],
    standard: Annotated[str, Parameter(help=STANDARDS_HELP)] = "us_military_tower",
    as_json: Json = False,
) -> int:
    """Explain a call or a reply: the model words, each element, what it costs, why, and the source."""
    from phraseology import standards
    from phraseology.explain import as_json as explanation_as_json
    from phraseology.explain import explain as explain_name

    if not name:
        raise TrainerError("nothing to explain", 'name a call or a reply, for instance "gear report"')
    explanation = explain_name(" ".join(name), standards.standard(standard))
    if as_json:
        print(json.dumps(explanation_as_json(explanation), ensure_ascii=False, indent=2))
    else:
        from rich.console import Console

        from trainer.explaining import WIDTH, print_explanation

        console = Console(highlight=False)
        console.width = min(console.width, WIDTH)
        print_explanation(explanation, console)
    return 0


@app.command
def pattern(
    field: Annotated[str, Parameter(help="A bundled field or a field file.")] = "corbel",
    *,
    runway: Annotated[str | None, Parameter(help="The runway end; without it, the last of the file.")] = None,
    aircraft: Annotated[
        str, Parameter(name="--class", help="turboprop_trainer, jet_trainer or fast_jet.")
    ] = "turboprop_trainer",
    wind: Annotated[str, Parameter(help="Where from and how strong: 310/12, magnetic and knots.")] = "calm",
    svg: Annotated[Path | None, Parameter(help="Draw the pattern into this file.")] = None,
    as_json: Json = False,
) -> int:
    """Work out a field's pattern: distances, times, heights, bank and g on each leg, in any wind."""
    from trainer.pattern_table import show_pattern

    return show_pattern(field, runway, aircraft, wind, svg, as_json)


@app.command
def simulate(
    *,
    field: Annotated[str, Parameter(help="A bundled field or a field file.")] = "corbel",
    runway: Annotated[str | None, Parameter(help="The runway end; without it, the last of the file.")] = None,
    hours: Annotated[float, Parameter(help="How long, session hours.")] = 1.0,
    demand: Annotated[float, Parameter(help="Aircraft that come an hour.")] = 8.0,
    seed: Seed = 1,
    wind: Annotated[str, Parameter(help="Where from and how strong: 310/12, magnetic and knots.")] = "calm",
    as_json: Json = False,
    svg: Annotated[
        Path | None, Parameter(help="Draw tracks, and time against distance, into this file.")
    ] = None,
    log: Annotated[
        Path | None, Parameter(help="Write every event into this file, a line of JSON each.")
    ] = None,
) -> int:
    """Let traffic and tower fly without a trainee: replies by reason, separation, landings an hour."""
    from trainer.simulating import run_simulation

    return run_simulation(field, runway, hours, demand, seed, wind, as_json=as_json, svg=svg, log=log)


@app.command
def check(*files: Path) -> int:
    """Check drill and field files; each finding with file, line, column and what to write instead."""
    from drills.check import check_file
    from drills.errors import Severity

    if not files:
        raise TrainerError("no file to check", "name one or more drill or field files")
    findings = [finding for file in files for finding in check_file(file)]
    for finding in findings:
        print(finding)
    errors = sum(finding.severity is Severity.ERROR for finding in findings)
    print(f"{len(files)} file(s): {errors} error(s), {len(findings) - errors} warning(s)")
    return 2 if errors else 0


@app.command
def doctor(
    *,
    record: Annotated[
        bool, Parameter(help="Record 10 s, judge voice, noise and clipping, and keep that for fly.")
    ] = True,
) -> int:
    """Say what works on this machine, and for each lack the one line that cures it."""
    from trainer.doctor import examine

    return examine(record=record)


@model.command(name="list")
def model_list() -> int:
    """The models on this machine: size, whether complete, and which one is heard with."""
    from trainer.models import installed_models, model_lines, models_folder

    print("\n".join(model_lines(installed_models())))
    print(f"More can be put into {models_folder()}, or fetched: patternvoice model get")
    return 0


@model.command(name="use")
def model_use(name: Annotated[str, Parameter(help="A name of the list, a folder, or embedded.")]) -> int:
    """Hear with this model from now on; --model on a command line still goes before it."""
    from trainer.models import use_model

    used = use_model(name)
    print(f"Heard with from now on: {used.name} ({used.folder})")
    return 0


@model.command(name="get")
def model_get() -> int:
    """Fetch the usual small English Vosk model (needs a connection); its checksum is checked."""
    from trainer.ears.fetch import fetch_usual_model
    from trainer.models import models_folder

    folder = fetch_usual_model(models_folder())
    print(f"The model is in {folder}. Hear with it: patternvoice model use {folder.name}")
    return 0


def main(arguments: list[str] | None = None) -> None:
    """Run one command and exit. Known errors are one sentence on standard error and status 2."""
    try:
        status = app(arguments, exit_on_error=False, print_error=False, result_action="return_value")
    except CycloptsError as error:
        print(f"patternvoice: {_one_line(str(error))} Try: patternvoice --help", file=sys.stderr)
        sys.exit(2)
    except KNOWN_ERRORS as error:
        print(f"patternvoice: {_one_line(str(error))}", file=sys.stderr)
        sys.exit(2)
    except BrokenPipeError:
        sys.exit(0)
    except OSError as error:
        print(f"patternvoice: {_one_line(str(error))}: see to this file or folder", file=sys.stderr)
        sys.exit(2)
    except KeyboardInterrupt:
        sys.exit(130)
    sys.exit(status if isinstance(status, int) else 0)


def _one_line(text: str) -> str:
    return " ".join(text.split())
