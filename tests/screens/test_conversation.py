"""What the conversation looks like, line by line."""

from collections.abc import Iterator

import pytest
from textual.app import App, ComposeResult

from trainer.screens.conversation import Conversation, Entry
from trainer.session.events import OtherSpoke


class Shown(App[None]):
    def compose(self) -> ComposeResult:
        yield Conversation("corbel tower", "SABLE 21")


def lines(entry: Entry) -> Iterator[str]:
    for row in range(entry.size.height):
        yield entry.render_line(row).text.rstrip()


WORDS = "corbel tower heron four two quarry three thousand five hundred information alfa"


@pytest.mark.parametrize(
    ("who", "names"),
    [
        ("HERON 42", [" 1:05  HERON 42  corbel", "                 two"]),
        ("WATERMARK 421", [" 1:05  WATERMARK corbel", "421              two"]),
    ],
)
async def test_words_stand_beside_the_name_and_are_copied_without_it(who: str, names: list[str]) -> None:
    app = Shown()
    async with app.run_test(size=(40, 10)) as pilot:
        conversation = app.query_one(Conversation)
        conversation.add(OtherSpoke(65.0, who, WORDS))
        await pilot.pause()
        entry = conversation.query_one(Entry)
        drawn = list(lines(entry))
        assert [line[: len(name)] for line, name in zip(drawn, names, strict=False)] == names
        assert " ".join(" ".join(line[17:] for line in drawn).split()) == WORDS
        entry.text_select_all()
        assert entry.text_selection is not None
        assert entry.get_selection(entry.text_selection) == (WORDS, "\n")
        await pilot.pause()
