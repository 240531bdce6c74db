"""What is wrong with a command line or a file it names, in one sentence that says where to read on."""

from cyclopts import (
    CoercionError,
    CycloptsError,
    MissingArgumentError,
    UnknownCommandError,
    UnusedCliTokensError,
)
from cyclopts.field_info import KEYWORD_ONLY

_KINDS = {int: "a whole number", float: "a number"}


def usage_sentence(error: CycloptsError) -> str:
    """The fault and where to read on: `there is no command "flyy": did you mean "fly"? Try: ...`."""
    chain = tuple(error.command_chain or ())
    return f"{_fault(error, chain)} Try: {' '.join(('patternvoice', *chain, '--help'))}"


def file_sentence(error: OSError) -> str:
    """What the system says of a file or folder that a command was to read or write."""
    if error.filename is None:
        return f"{error.strerror or error}: see to the disk and the folder"
    return f'cannot use "{error.filename}" ({error.strerror}): see to this file or folder'


def _fault(error: CycloptsError, chain: tuple[str, ...]) -> str:
    named = '"' + " ".join(chain) + '"'
    if isinstance(error, (UnusedCliTokensError, UnknownCommandError)) and error.unused_tokens:
        word = error.unused_tokens[0]
        if not chain or isinstance(error, UnknownCommandError):
            return _no_command(error, word)
        return f'{named} has no use for "{word}".'
    if isinstance(error, MissingArgumentError) and error.argument is not None:
        if error.keyword:
            return f"{error.keyword} needs a value."
        kind = error.argument.field_info.kind
        name = error.argument.name
        return f"{named} needs {name if kind is KEYWORD_ONLY else name.lstrip('-').upper()}."
    if isinstance(error, CoercionError) and error.token is not None and error.target_type in _KINDS:
        option = error.token.keyword or (error.argument.name if error.argument else "")
        return f'{option} must be {_KINDS[error.target_type]}, not "{error.token.value}".'
    return str(error)


def _no_command(error: CycloptsError, word: str) -> str:
    """Needs the commands beside it only to say which was meant."""
    from phraseology.suggesting import nearest

    names = [name for name in error.app or () if not name.startswith("-")] if error.app else []
    likely = nearest(word, names)
    meant = f': did you mean "{likely}"?' if likely else "."
    return f'there is no command "{word}"{meant}'
