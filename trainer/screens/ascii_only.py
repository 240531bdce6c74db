"""For a terminal that has no Unicode: everything that is drawn, ours or the library's, in plain ASCII.

What the locale says is what counts; Python itself turns the "C" locale into UTF-8 and tells nobody.
"""

from collections.abc import Mapping

from rich.segment import Segment
from textual.color import Color
from textual.filter import LineFilter

_SIGNS = {
    "→": ">", "←": "<", "↑": "^", "↓": "v", "↗": "/", "↘": "\\", "↖": "\\", "↙": "/",
    "◉": "@", "○": "o", "●": "*", "◆": "*", "·": ".", "…": ".", "━": "=", "─": "-", "═": "=", "│": "|",
    "┃": "|", "║": "|", "▌": "|", "▐": "|", "▎": "|", "▏": "|", "▕": "|", "▊": "|", "▔": "-", "▁": "_",
    "▀": "-", "▄": "_", "├": "|", "┤": "|", "█": "#", "▼": "v", "▲": "^", "▶": ">", "◀": "<", "•": "*",
    "–": "-", "—": "-", "’": "'", "\N{NO-BREAK SPACE}": " ",
}  # fmt: skip
_LEFT, _RIGHT = 0x47, 0xB8
_ROWS = (0x09, 0x12, 0x24, 0xC0)


def speaks_unicode(environment: Mapping[str, str]) -> bool:
    """As the locale of this environment has it; `LC_CTYPE` may be Python's own doing (PEP 538)."""
    kind = environment.get("LC_CTYPE", "")
    if kind in ("C.UTF-8", "C.utf8", "UTF-8") and environment.get("LANG", "") in ("", "C", "POSIX"):
        kind = ""
    name = environment.get("LC_ALL") or kind or environment.get("LANG") or "C"
    return "utf-8" in name.lower() or "utf8" in name.lower()


def _braille(mask: int) -> str:
    """The sign whose ink lies where the dots of the cell do."""
    if not mask:
        return " "
    if mask.bit_count() == 8:
        return "#"
    rows = [row for row, bits in enumerate(_ROWS) if mask & bits]
    both = bool(mask & _LEFT) and bool(mask & _RIGHT)
    if len(rows) == 1:
        return ("'" if rows[0] == 0 else ".") if not both else "_" if rows[0] == 3 else "-"
    if not both:
        return "|" if len(rows) > 2 else ":"
    if len(rows) >= 3:
        left = max(row for row in rows if mask & _LEFT & _ROWS[row])
        right = max(row for row in rows if mask & _RIGHT & _ROWS[row])
        return "|" if left == right else "/" if left > right else "\\"
    return "="


_TABLE = {ord(sign): plain for sign, plain in _SIGNS.items()}
_TABLE |= {0x2800 + mask: _braille(mask) for mask in range(256)}


def plain(text: str) -> str:
    """The text in ASCII, each character by one; corners are "+", what has no likeness is "?"."""
    if text.isascii():
        return text
    return "".join(
        sign if sign.isascii() else "+" if "─" <= sign <= "╿" else "#" if "▀" <= sign <= "▟" else "?"
        for sign in text.translate(_TABLE)
    )


class AsciiOnly(LineFilter):
    """The last step before the terminal."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        return [Segment(plain(text), style, control) for text, style, control in segments]
