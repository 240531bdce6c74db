"""What the trainee has done so far, call by call: the branches of a drill are chosen by it."""

from collections import defaultdict
from typing import Literal

from drills.steps import READ_BACK, Condition

Was = Literal["right", "wrong", "missed"]


class Conduct:
    """How each call was, in the order made or missed. What was not clear is not kept."""

    def __init__(self) -> None:
        self._was: defaultdict[str, list[Was]] = defaultdict(list)

    def keep(self, call: str, was: Was) -> None:
        self._was[READ_BACK if call.startswith(("answer_to", "challenge")) else call].append(was)

    def count(self, call: str) -> int:
        """How many calls of this name have been made or missed."""
        return len(self._was[call])

    def holds(self, condition: Condition | None) -> bool:
        """The condition of a step; none always holds. "any" is the last call of that kind."""
        if condition is None:
            return True
        done = self._was[condition.call]
        number = len(done) if condition.occurrence == "any" else int(condition.occurrence)
        return 0 < number <= len(done) and done[number - 1] == condition.was
