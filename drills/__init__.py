"""Drills and fields as text files: what an instructor writes, read strictly and explained when wrong.

May import `phraseology`; imports neither `voices` nor `trainer`. Start at `drills.check`:
`load_drill`, `load_field` and `check_file`.
"""
