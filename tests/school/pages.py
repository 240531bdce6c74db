"""A sheet as a test reads it: its tables as text, and its width in a browser."""

import re
import subprocess
import tempfile
from html.parser import HTMLParser
from pathlib import Path


class Page(HTMLParser):
    """Tables as lists of rows of cells, all text unescaped; `tags` is every tag that was met."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.tables: list[list[list[str]]] = []
        self.tags: list[str] = []
        self._cell: list[str] | None = None

    @classmethod
    def of(cls, path: Path) -> "Page":
        page = cls()
        page.feed(path.read_text(encoding="utf-8"))
        return page

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        if tag == "table":
            self.tables.append([])
        elif tag == "tr":
            self.tables[-1].append([])
        elif tag in ("td", "th"):
            self._cell = []

    def handle_endtag(self, tag: str) -> None:
        if tag in ("td", "th") and self._cell is not None:
            self.tables[-1][-1].append(" ".join("".join(self._cell).split()))
            self._cell = None

    def handle_data(self, data: str) -> None:
        if self._cell is not None:
            self._cell.append(data)

    def columns(self, first: str) -> list[list[str]]:
        """The head of each table whose first column is called so."""
        return [table[0] for table in self.tables if table[0][0] == first]

    def rows(self, table: int) -> list[list[str]]:
        """The rows of a table without its head."""
        return self.tables[table][1:]

    @staticmethod
    def widths(path: Path, width: int) -> tuple[int, int]:
        """Of the document and of its body in Chromium in a frame of so many pixels."""
        with tempfile.TemporaryDirectory() as folder:
            outer = Path(folder) / "outer.html"
            outer.write_text(
                f'<iframe id="f" src="{path.as_uri()}" style="width:{width}px;height:800px;border:0"></iframe>'
                "<p id=w></p><script>const f=document.getElementById('f');f.onload=()=>{const d=f.contentDocument;"
                "document.getElementById('w').textContent='w='+d.documentElement.scrollWidth+','"
                "+d.body.scrollWidth;}</script>"
            )
            done = subprocess.run(
                ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--allow-file-access-from-files",
                 "--virtual-time-budget=3000", f"--user-data-dir={folder}/profile", "--dump-dom", outer.as_uri()],
                capture_output=True, text=True, timeout=120, check=True,
            )  # fmt: skip
        found = re.search(r"w=(\d+),(\d+)", done.stdout)
        assert found, done.stdout[-500:]
        return int(found[1]), int(found[2])
