"""The command line's `class` and `grade`: thin, and light to import. Status 0 done, 2 bad usage or input."""

import sys
from pathlib import Path
from typing import Annotated, Literal

from cyclopts import App, Parameter

from trainer.commands.help_pages import TEACHING
from trainer.commands.question import Question

school = App(
    name="class",
    help="Keep a class: roster, drills, sessions, sheets.",
    group=TEACHING,
    group_commands="Commands",
    group_parameters="Options",
)

ClassName = Annotated[str | None, Parameter(name="--class", help="Which class; without it, the only one.")]
ANYTHING = Question()
Verdict = Literal["right", "wrong", "missing", "extra", "order", "nonstandard", "unsure"]


@school.command(name="new")
def class_new(
    name: Annotated[str, Parameter(help="Name of the class.")],
    *,
    roster: Annotated[Path | None, Parameter(help="Its students: CSV with name, number or both.")] = None,
) -> int:
    """Make a class on this machine."""
    from trainer.school.classroom import new_class
    from trainer.school.roster import read_roster

    students = read_roster(roster) if roster else []
    room = new_class(name)
    if students:
        room.set_roster(students)
    print(f"Made: class {room.name}, {len(students)} students, in {room.folder}")
    return 0


@school.command(name="roster")
def class_roster(
    file: Annotated[Path, Parameter(help="CSV with a column name, a column number, or both.")],
    *,
    name: ClassName = None,
) -> int:
    """Take this roster in place of the present one.

    Nothing but a name and a number is kept of anybody.
    """
    from trainer.school.classroom import open_class
    from trainer.school.roster import read_roster

    room = open_class(name)
    students = read_roster(file)
    room.set_roster(students)
    print(f"{room.name}: {len(students)} students: {', '.join(each.title for each in students)}")
    return 0


@school.command(name="assign")
def class_assign(
    *drills: Annotated[str, Parameter(help="Drills by name or file.")],
    name: ClassName = None,
) -> int:
    """Assign drills; the sheets show who has flown them."""
    from trainer.errors import TrainerError
    from trainer.school.classroom import open_class

    if not drills:
        raise TrainerError("no drill to assign", "name one or more drills")
    room = open_class(name)
    for each in room.assign(drills):
        print(f"Assigned: {each.title}. Flown with: patternvoice fly --drill {each.drill}")
    return 0


@school.command(name="hand-in")
def class_hand_in(
    *sessions: Annotated[int, Parameter(help="Numbers of the logbook's list; without any, the last.")],
    trainee: Annotated[str, Parameter(name="--as", help="Your name or number, as on the roster.")],
    out: Annotated[Path, Parameter(help="The folder to write to.")] = Path("."),
) -> int:
    """Write a student's sessions into files for the instructor.

    On the student's machine; one file a session, with its recordings.
    """
    from trainer.compose import open_logbook
    from trainer.debrief.debriefing import session_row
    from trainer.school.session_file import write_session

    with open_logbook() as logbook:
        for row in [session_row(logbook, number) for number in sessions or (None,)]:
            print(f"Written: {write_session(logbook, row, out, trainee)}")
    return 0


@school.command(name="collect")
def class_collect(
    folder: Annotated[Path, Parameter(help="The folder with the exported sessions; folders in it too.")],
    *,
    name: ClassName = None,
) -> int:
    """Take in sessions from other machines, each once.

    Exit status: 0 done, 2 if one is refused.
    """
    from trainer.school.classroom import open_class
    from trainer.school.collecting import collect

    room = open_class(name)
    new = again = refused = 0
    for each in collect(room, folder):
        if each.problem is not None:
            refused += 1
            print(f"patternvoice: {each.problem}", file=sys.stderr)
            continue
        new, again = new + each.new, again + (not each.new)
        what = f"session {each.session}, {each.calls} calls" if each.new else f"session {each.session} again"
        print(f"{each.student}: {what} ({each.path.name})")
    print(f"{room.name}: {new} new, {again} known already, {refused} refused")
    return 2 if refused else 0


@school.command(name="sheet")
def class_sheet(
    *,
    name: ClassName = None,
    out: Annotated[
        Path | None, Parameter(help="Folder; without it, sheets of the class's name here.")
    ] = None,
) -> int:
    """Write the sheets of class and students: HTML, CSV, JSON."""
    from datetime import date

    from trainer.school.classroom import open_class
    from trainer.school.counting import class_figures
    from trainer.school.sheets import write_sheets

    room = open_class(name)
    figures = class_figures(room)
    written = write_sheets(figures, out or Path(f"{room.name} sheets"), f"{date.today():%d %B %Y}")
    longest = max((len(student.title) for student in figures.students), default=0)
    for student in figures.students:
        first = ", ".join(student.weaknesses[:2]) or "nothing stands out"
        found = first if student.calls else "nothing collected"
        print(f"{student.title:{longest}} {student.calls:5} calls  {found}")
    print(f"Written: {written[0]} and {len(written) - 1} files beside it")
    return 0


@school.command(name="correct")
def class_correct(
    session: Annotated[int, Parameter(help="Number of the session, as on the sheets.")],
    call: Annotated[int, Parameter(help="Which call of it, from 1.")],
    element: Annotated[str, Parameter(help="Which element: callsign, gear, ...")],
    verdict: Annotated[Verdict, Parameter(help="What it should have been.")],
    *,
    reason: Annotated[str, Parameter(help="Why; it stands on the sheets.")],
    severity: Annotated[
        Literal["critical", "major", "minor", "none"] | None,
        Parameter(help="How bad; without it what the element had, major at least, if wrong or missing."),
    ] = None,
    name: ClassName = None,
) -> int:
    """Correct a verdict.

    What was judged is kept; the sheets show both, and count the correction.
    """
    from phraseology.assess import Verdict as Judgement
    from phraseology.elements import Severity
    from trainer.school.classroom import open_class
    from trainer.school.corrections import correct

    made = correct(
        open_class(name),
        session,
        call,
        element,
        Judgement(verdict),
        reason,
        None if severity is None else Severity(severity),
    )
    was, now = (
        f"{made.was.value} ({made.was_severity.value})",
        f"{made.now.value} ({made.now_severity.value})",
    )
    print(f"Session {made.session}, call {made.call}, {made.element}: {was} is now {now}: {made.reason}")
    return 0


@school.command(name="calls")
def class_calls(
    session: Annotated[int, Parameter(help="Number of the session, as on the sheets.")],
    *,
    name: ClassName = None,
) -> int:
    """Show the calls of one session: numbers, marks, corrections."""
    from trainer.school.classroom import open_class
    from trainer.school.corrections import call_lines

    print("\n".join(call_lines(open_class(name), session)))
    return 0


@school.command(name="list")
def class_list() -> int:
    """List the classes: students, drills, sessions."""
    from trainer.school.classroom import class_names, open_class

    names = class_names()
    for name in names:
        room = open_class(name)
        with room.logbook() as logbook:
            ((sessions,),) = logbook.rows("SELECT count(*) FROM sessions WHERE summary IS NOT NULL")
        print(f"{name}: {len(room.students)} students, {len(room.drills)} drills, {sessions} sessions")
    if not names:
        print("No class yet. Make one: patternvoice class new NAME")
    return 0


def grade(
    folder: Annotated[Path, Parameter(help="Folder of recordings or handed-in sessions; folders in it too.")],
    *,
    question: Annotated[Question, Parameter(name="*")] = ANYTHING,
    scheduler: Annotated[
        str | None, Parameter(help="Address of a Dask scheduler, tcp://HOST:8786: judge on its workers.")
    ] = None,
    workers: Annotated[int | None, Parameter(help="Processes here; without it, one a core.")] = None,
    model_dir: Annotated[
        Path | None,
        Parameter(name="--model", help="A Vosk model directory, also on the workers."),
    ] = None,
) -> int:
    """Judge all recordings of a folder, in parallel.

    What was judged before stays. Exit status: 2 if some could not be read.
    """
    from trainer.school.grading import run_grading

    return run_grading(folder, question, scheduler, workers, model_dir)
