"""The instructor's side: a class with its roster and drills, results from many machines, sheets, grading.

May import the rest of `trainer` but for `screens` and `live`; does I/O. A class is a folder of the data
folder: `class.json` (roster and drills), a logbook of all collected sessions, and `corrections.json`.
"""
