"""What may be read of a ZIP that comes from outside: for models and handed-in sessions. No I/O here."""

import struct
import zipfile
import zlib

NOT_WHOLE = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    NotImplementedError,
    OverflowError,
    RuntimeError,
    ValueError,
)
"""What the library raises for bytes that are no archive, not whole or locked."""
_PLAIN = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)


def plainly_packed(member: zipfile.ZipInfo) -> bool:
    """Stored or deflated. The other ways of packing may ask for any memory at one go."""
    return member.compress_type in _PLAIN
