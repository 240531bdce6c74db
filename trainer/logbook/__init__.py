"""The logbook: every event of every session in SQLite, and what was heard as WAV files.

May import the rest of `trainer`; does I/O, so that the deciding parts need not.
"""
