"""Pages that are handed out: one HTML file each that opens anywhere, offline, without script.

The templates lie in `trainer/pages`: `page.html` is the frame, `parts.html` the pieces, `style.css` the look.
Every text that is put in is escaped; only drawings made here are markup.
"""

import base64
import os
from functools import cache
from importlib import resources
from io import BytesIO
from pathlib import Path

import jinja2
import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray

from trainer.errors import TrainerError

_CONTROLS = dict.fromkeys((*range(0x20), *range(0x7F, 0xA0), 0xFFFE, 0xFFFF, *range(0xD800, 0xE000)), " ")
_CONTROLS |= {9: "\t", 10: "\n"}
"""What no HTML document may hold, even escaped (HTML Living Standard 13.2.3.5), as a blank."""


@cache
def _environment() -> jinja2.Environment:
    return jinja2.Environment(
        loader=jinja2.PackageLoader("trainer", "pages"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def style() -> str:
    """The style sheet of every page."""
    return (resources.files("trainer") / "pages" / "style.css").read_text(encoding="utf-8")


def page(template: str, **values: object) -> str:
    """The whole document; `values` are what the template names."""
    made = _environment().get_template(template).render(style=Markup(style()), **values)
    return made.translate(_CONTROLS)


def write_page(out: Path, document: str) -> None:
    """Written whole or not at all, for this user only; TrainerError if it cannot be.

    Half a character is written as "?".
    """
    part = out.with_name(f"{out.name}.{os.getpid()}.part")
    try:
        with open(
            part,
            "w",
            encoding="utf-8",
            errors="replace",
            opener=lambda name, flags: os.open(name, flags, 0o600),
        ) as file:
            file.write(document)
        os.replace(part, out)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise TrainerError(
            f"{out} cannot be written ({error.strerror})", "name a folder that has room"
        ) from error


def sound_uri(samples: NDArray[np.int16] | NDArray[np.float32], rate: int) -> str:
    """The sound as a data URI: FLAC, which every browser of today plays, at about half the size of WAV."""
    import soundfile  # late: it loads a library

    flac = BytesIO()
    soundfile.write(flac, samples, rate, format="FLAC", subtype="PCM_16")
    return "data:audio/flac;base64," + base64.b64encode(flac.getvalue()).decode("ascii")
