"""How `--help` looks: the groups of commands in the order of use, and which defaults are worth showing."""

from cyclopts import Group

FLYING = Group("Fly", sort_key=1)
AFTERWARDS = Group("After the flight", sort_key=2)
JUDGING = Group("Calls and words", sort_key=3)
FIELDS = Group("Fields and drills", sort_key=4)
TEACHING = Group("For instructors", sort_key=5)
THIS_MACHINE = Group("This machine", sort_key=6)


def default_shown(value: object) -> str | None:
    """A default as the help shows it; None for a flag that is off, or nothing at all: that says nothing."""
    return None if value is None or isinstance(value, bool) or value == () else str(value)
