"""The base of what is looked at ten times a second and seldom changes."""

from textual.content import Content
from textual.widgets import Static


class Line(Static):
    """Draws itself anew only where what it shows has changed; `layout` where its height may change."""

    _drawn: tuple[str, object] | None = None

    def draw(self, content: Content | str, *, layout: bool = False) -> None:
        drawn = (content, None) if isinstance(content, str) else (content.plain, content.spans)
        if drawn != self._drawn:
            self._drawn = drawn
            self.update(content, layout=layout)
