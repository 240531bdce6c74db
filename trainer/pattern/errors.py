"""What can go wrong in the pattern."""


class PatternError(Exception):
    """An instruction, a point or a time that does not fit the pattern; the text says what would."""
