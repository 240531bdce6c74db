"""A talk key for the mouse: down is on the air, up is off."""

from textual import events
from textual.message import Message

from trainer.live.session import LiveSession
from trainer.screens.line import Line


class TalkButton(Line):
    """Posts `Pressed` and `Released`; a release outside of it counts."""

    class Pressed(Message):
        """The mouse went down on it."""

    class Released(Message):
        """The mouse came up, wherever it is."""

    def __init__(self) -> None:
        super().__init__(" Hold to talk ", id="talk")
        self._down = False

    def show(self, live: LiveSession) -> None:
        """It is there while there is a microphone."""
        self.display = live.hearing is not None
        self.set_class(live.key_down, "-talking")
        self.draw("* On the air * " if live.key_down else " Hold to talk ")

    def on_mouse_down(self, event: events.MouseDown) -> None:
        event.stop()
        self._down = True
        self.capture_mouse()
        self.post_message(self.Pressed())

    def on_mouse_up(self, event: events.MouseUp) -> None:
        event.stop()
        self.release_mouse()
        if self._down:
            self._down = False
            self.post_message(self.Released())
