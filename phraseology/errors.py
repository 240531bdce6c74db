"""The one error root of the language core."""


class PhraseologyError(Exception):
    """A name or value that the language does not have; the message says which there are."""
