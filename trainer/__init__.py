"""The application: pattern, traffic, tower, session, ears, screens, logbook, command line.

May import `phraseology`, `voices` and `drills`. The deciding parts (pattern, traffic, tower,
session) do no I/O, start no thread and read no clock; `compose` builds the engines and wires them.
"""
