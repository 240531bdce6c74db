"""Practice that remembers: what of the language is due or weak, and a drill of ten minutes made of it.

Pure but for `history`, which reads the logbook: the time is handed in. May import the rest of `trainer`.
"""
