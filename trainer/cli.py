"""The command line: thin. Parses words, calls one function, prints, chooses the exit status.

Exit status: 0 done (or accepted), 1 not accepted (or findings), 2 bad usage or bad input.
"""

import atexit
import json
import os
import sys
import threading
from contextlib import suppress
from io import TextIOWrapper
from pathlib import Path
from typing import Annotated, Literal

from cyclopts import App, CycloptsError, Parameter

from trainer.commands.afterwards import debrief, practise, progress
from trainer.commands.field_options import FieldOptions
from trainer.commands.help_pages import (
    AFTERWARDS,
    FIELDS,
    FLYING,
    JUDGING,
    TEACHING,
    THIS_MACHINE,
    default_shown,
)
from trainer.commands.logbook_words import app as logbook
from trainer.commands.question import STANDARDS_HELP, Question
from trainer.commands.usage import file_sentence, usage_sentence
from trainer.errors import KNOWN_ERRORS, TrainerError
from trainer.memory import give_back_what_is_freed
from trainer.school.commands import grade, school

LONGEST_END_S = 8.0
"""So long the end of the program may take once its work is done."""


def _version() -> str:
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("patternvoice")
    except PackageNotFoundError:
        return "not installed"


app = App(
    name="patternvoice",
    version=_version,
    help="Hands-free practice of the radio calls of the overhead pattern. A training aid, not for use in"
    " flight. Without a command: the start screen.",
    help_format="plaintext",
    version_flags=["--version"],
    default_parameter=Parameter(negative=(), show_default=default_shown),
    group_parameters="Options",
    group_commands=THIS_MACHINE,
)
model = App(
    name="model",
    help="List, choose or fetch the speech models.",
    group_commands="Commands",
    group_parameters="Options",
)
app.command(model)
app.command(logbook)
app.command(debrief, group=AFTERWARDS)
app.command(progress, group=AFTERWARDS)
app.command(practise, group=FLYING)
app.command(school)
app.command(grade, group=TEACHING)

Pace = Literal["real", "quick", "patient"]
Seed = Annotated[int, Parameter(help="The same seed gives the same session.")]
ModelDir = Annotated[
    Path | None,
    Parameter(name="--model", help="A Vosk model directory to hear with, instead of the one in use."),
]

Json = Annotated[bool, Parameter(name="--json", help="Print JSON, for scripts.")]
Due = Annotated[Question, Parameter(name="*")]
ANYTHING = Question()
NOT_SAID = FieldOptions()


@app.default
def begin() -> int:
    """Choose field, drill, callsign and the rest on the start screen, and fly."""
    from trainer.live.front_desk import start

    return start()


@app.command(group=FLYING)
def demo(
    *,
    seed: Seed = 1,
    out: Annotated[Path | None, Parameter(help="Folder for the WAV.")] = None,
    model_dir: ModelDir = None,
) -> int:
    """Watch a synthetic trainee fly a drill: no sound card, no keys."""
    from trainer.commands.demo import run_demo

    return run_demo(seed=seed, out=out, model=model_dir)


@app.command(group=FLYING)
def fly(
    *,
    pace: Annotated[Pace | None, Parameter(help="How time runs between calls.")] = None,
    seed: Seed = 1,
    callsign: Annotated[str | None, Parameter(help='For instance "SABLE 21".')] = None,
    drill: Annotated[str | None, Parameter(help="A drill's name or file; without it, free flight.")] = None,
    field: Annotated[str, Parameter(help="The field of free flight.")] = "corbel",
    runway: Annotated[
        str | None, Parameter(help="The runway of free flight; without it, the last of the file.")
    ] = None,
    difficulty: Annotated[
        str | None,
        Parameter(
            help="Where free flight begins: beginner, student, solo, proficient, check-ride, or a number"
            " from 0 to 100. It follows your last calls; without it, as the last one ended."
        ),
    ] = None,
    model_dir: ModelDir = None,
    typed: Annotated[bool, Parameter(help="No microphone: type the calls, hear the tower.")] = False,
    no_sound: Annotated[bool, Parameter(help="Neither microphone nor speaker: type the calls.")] = False,
    radio: Annotated[Literal["clean", "normal", "weak"], Parameter(help="How the others sound.")] = "normal",
    headphones: Annotated[
        bool,
        Parameter(help="The microphone stays open while others speak: do not step on them."),
    ] = False,
) -> int:
    """Fly with your own voice, or type the calls."""
    from trainer.live.start import fly as fly_live
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
        difficulty=difficulty,
        radio=radio,
        headphones=headphones,
    )


@app.command(group=FLYING)
def serve(
    *, port: Annotated[int, Parameter(help="Of this machine; nothing is to be reached from outside.")] = 8765
) -> int:
    """Fly in a browser on this machine, with its microphone."""
    from trainer.commands.serve import serve as serve_here

    return serve_here(port)


@app.command(group=JUDGING)
def assess(
    *,
    said: Annotated[str | None, Parameter(help="What the pilot said, in words.")] = None,
    wav: Annotated[Path | None, Parameter(help="What the pilot said, as 16 kHz 16-bit mono WAV.")] = None,
    question: Due = ANYTHING,
    as_json: Json = False,
    model_dir: ModelDir = None,
) -> int:
    """Judge one call, or the answer to one message.

    Exit status: 0 accepted, 1 not accepted, 2 bad usage.
    """
    from trainer.debrief.account import assessment_lines
    from trainer.judging import judge
    from trainer.models import chosen_model

    assessment = judge(question, said=said, wav=wav, model=chosen_model(model_dir) if wav else None)
    if as_json:
        print(json.dumps(assessment.as_json(), ensure_ascii=False, indent=2))
    else:
        print("\n".join(assessment_lines(assessment)))
    return 0 if assessment.accepted else 1


@app.command(group=JUDGING)
def hear(
    *files: Annotated[Path, Parameter(help="WAV files, one call each, or folders of them.")],
    question: Due = ANYTHING,
    as_json: Json = False,
    model_dir: ModelDir = None,
) -> int:
    """Hear recordings, and judge them if told what was due.

    Without --call and --after the call that fits best is named.
    Exit status: 0 all accepted, 1 not accepted, 2 not readable.
    """
    from trainer.commands.hear import hear_files
    from trainer.compose import open_ears
    from trainer.models import chosen_model

    return hear_files(files, question, lambda: open_ears(chosen_model(model_dir)), as_json=as_json)


@app.command(group=JUDGING)
def explain(
    *name: Annotated[
        str, Parameter(help='A call or a reply: "gear_report", "gear report", "closed-approved".')
    ],
    standard: Annotated[str, Parameter(help=STANDARDS_HELP)] = "us_military_tower",
    as_json: Json = False,
    say_it: Annotated[bool, Parameter(name="--say", help="And let it be heard: tower, then pilot.")] = False,
) -> int:
    """Explain a call or a reply: words, costs, rules, sources."""
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

        from trainer.commands.explain import WIDTH, print_explanation

        console = Console(highlight=False)
        console.width = min(console.width, WIDTH)
        print_explanation(explanation, console)
    if say_it:
        from trainer.saying import say_model

        say_model(explanation)
    return 0


@app.command(group=JUDGING)
def say(
    *text: Annotated[str, Parameter(help='The words, figures too: "SABLE 21, runway 31, cleared to land".')],
    station: Annotated[str, Parameter(name="--as", help="Who says it: tower or a callsign.")] = "tower",
    radio: Annotated[
        Literal["clean", "normal", "weak", "blocked"], Parameter(help="How it is received.")
    ] = "normal",
    out: Annotated[Path | None, Parameter(help="Into this WAV file, instead of the loudspeaker.")] = None,
    standard: Annotated[str, Parameter(help=f"Whose figures: {STANDARDS_HELP}")] = "us_military_tower",
    wpm: Annotated[int | None, Parameter(help="Words a minute, 100 to 250.")] = None,
    seed: Seed = 1,
) -> int:
    """Say words as a station does, through the radio."""
    from trainer.saying import say as say_words

    return say_words(" ".join(text), station, radio, out, standard, seed, wpm)


@app.command(group=FIELDS)
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
    """Work out a field's pattern, leg by leg, in any wind."""
    from trainer.commands.pattern import show_pattern

    return show_pattern(field, runway, aircraft, wind, svg, as_json)


@app.command(group=FIELDS)
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
    """Run traffic and tower alone, and count what happens."""
    from trainer.commands.simulate import run_simulation

    return run_simulation(field, runway, hours, demand, seed, wind, as_json=as_json, svg=svg, log=log)


@app.command(group=FIELDS)
def check(*files: Annotated[Path, Parameter(help="Drill or field files.")]) -> int:
    """Check drill and field files, and say what to write instead.

    A drill is also flown once, by the book: a forced reply after which two aircraft come too close is found.
    """
    from drills.errors import Severity
    from trainer.commands.check import check as check_file

    if not files:
        raise TrainerError("no file to check", "name one or more drill or field files")
    findings = [finding for file in files for finding in check_file(file)]
    for finding in findings:
        print(finding)
    errors = sum(finding.severity is Severity.ERROR for finding in findings)
    print(f"{len(files)} file(s): {errors} error(s), {len(findings) - errors} warning(s)")
    return 2 if errors else 0


@app.command(name="new-field", group=FIELDS)
def new_field(
    *,
    options: Annotated[FieldOptions, Parameter(name="*")] = NOT_SAID,
    out: Annotated[Path | None, Parameter(help="The file; without it, named after the field.")] = None,
) -> int:
    """Write a field file from a few questions.

    What is given as an option is not asked. Everything is checked.
    """
    from trainer.commands.new_field import new_field as write_field

    path = write_field(out, options, ask=lambda question: input(f"{question}: "), say=print)
    print(f"Written: {path}. Fly there: patternvoice fly --field {path}")
    return 0


@app.command
def doctor(
    *,
    record: Annotated[
        bool,
        Parameter(
            negative="--no-record",
            help="Record 10 s of your voice, judge its level, and keep the gain for fly.",
        ),
    ] = True,
) -> int:
    """Say what works on this machine, and what cures the rest."""
    from trainer.commands.doctor import examine

    return examine(record=record)


@model.command(name="list")
def model_list() -> int:
    """List the models: size, whether complete, which is in use."""
    from trainer.models import installed_models, model_lines, models_folder

    print("\n".join(model_lines(installed_models())))
    print(f"More can be put into {models_folder()}, or fetched: patternvoice model get")
    return 0


@model.command(name="use")
def model_use(name: Annotated[str, Parameter(help="A name of the list, a folder, or embedded.")]) -> int:
    """Hear with this model from now on.

    --model on a command line still goes before it.
    """
    from trainer.models import use_model

    used = use_model(name)
    print(f"Heard with from now on: {used.name} ({used.folder})")
    return 0


@model.command(name="get")
def model_get() -> int:
    """Fetch the small English Vosk model; needs a network."""
    from trainer.ears.fetch import fetch_usual_model
    from trainer.models import models_folder

    folder = fetch_usual_model(models_folder())
    print(f"The model is in {folder}. Hear with it: patternvoice model use {folder.name}")
    return 0


def main(arguments: list[str] | None = None) -> None:
    """Run one command and exit. Known errors are one sentence on standard error and status 2."""
    for stream in (sys.stdout, sys.stderr):  # a terminal or file that lacks a character gets a question mark
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")
    try:
        status = app(arguments, exit_on_error=False, print_error=False, result_action="return_value")
    except CycloptsError as error:
        print(f"patternvoice: {_one_line(usage_sentence(error))}", file=sys.stderr)
        sys.exit(2)
    except KNOWN_ERRORS as error:
        print(f"patternvoice: {_one_line(str(error))}", file=sys.stderr)
        sys.exit(2)
    except BrokenPipeError:
        sys.exit(0)
    except OSError as error:
        print(f"patternvoice: {_one_line(file_sentence(error))}", file=sys.stderr)
        sys.exit(2)
    except KeyboardInterrupt:
        sys.exit(130)
    sys.exit(status if isinstance(status, int) else 0)


def run() -> None:
    """`main` as the installed program. A library that does not come to its own end is not waited for.

    One flight of eight on a busy machine had given its account and did not go; all is kept by then. What was
    registered for the end is done, the interpreter is not taken down: there no thread can watch over it.
    """
    give_back_what_is_freed()
    try:
        main()
    except SystemExit as ended:
        status = ended.code if isinstance(ended.code, int) else 0
        end = threading.Timer(LONGEST_END_S, os._exit, (status,))
        end.daemon = True
        end.start()
        with suppress(OSError):  # nobody reads it any more
            sys.stdout.flush()
            sys.stderr.flush()
        atexit._run_exitfuncs()
        os._exit(status)


def _one_line(text: str) -> str:
    return " ".join(text.split())
