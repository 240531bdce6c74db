"""What the tower has told an aircraft and the aircraft has yet to use."""

from dataclasses import dataclass, replace
from typing import Literal

from trainer.pattern.leg import Leg
from trainer.pattern.plan import BreakPoint, Side

Intention = Literal["touch_and_go", "full_stop", "low_approach", "stop_and_go", "option"]
AskedReport = Literal["break_report", "outside_downwind"]


@dataclass(frozen=True)
class Diversion:
    """Where a breakout or a climb-out goes, and how high."""

    kind: Literal["breakout", "climb_out"]
    point: str
    altitude_ft: float


@dataclass(frozen=True)
class Circle:
    """A three-sixty: which way, and the leg that it leads back to."""

    side: Side
    back_to: Leg


@dataclass(frozen=True)
class Clearances:
    """Each is used up on the leg that it permits: the next circuit needs new ones."""

    break_approved: bool = False
    break_at: BreakPoint = "threshold"
    landing: Intention | None = None
    closed_approved: bool = False
    diversion: Diversion | None = None
    extend_downwind: bool = False
    extend_upwind: bool = False
    proceed_initial: bool = False
    straight_in: bool = False
    short_approach: bool = False
    circle: Circle | None = None
    asked_reports: frozenset[AskedReport] = frozenset()

    def left_after_entering(self, leg: Leg) -> "Clearances":
        """What still stands once this leg is entered."""
        stands = self if leg is Leg.THREE_SIXTY or self.circle is None else replace(self, circle=None)
        return stands._used_up_on(leg)

    def _used_up_on(self, leg: Leg) -> "Clearances":
        match leg:
            case Leg.NINETY_TO_INITIAL | Leg.FORTY_FIVE_TO_INITIAL:
                return replace(
                    self, proceed_initial=False, asked_reports=self.asked_reports - {"outside_downwind"}
                )
            case Leg.BREAK_TURN:
                return replace(self, break_approved=False, break_at="threshold")
            case Leg.INSIDE_DOWNWIND:
                return replace(self, asked_reports=self.asked_reports - {"break_report"})
            case Leg.FINAL_TURN:
                return replace(self, extend_downwind=False, short_approach=False)
            case Leg.RUNWAY:
                return replace(self, straight_in=False)
            case Leg.DEPARTURE | Leg.GOING_AROUND:
                return replace(self, landing=None, straight_in=False)
            case Leg.STRAIGHT_IN:
                return replace(self, proceed_initial=False)
            case Leg.CLOSED_PULL_UP:
                return replace(self, closed_approved=False, extend_upwind=False)
            case Leg.CROSSWIND:
                return Clearances(asked_reports=self.asked_reports - {"break_report"})
            case Leg.BREAKOUT | Leg.CLIMB_OUT:
                return Clearances(diversion=self.diversion)
            case Leg.ENTRY_POINT | Leg.CLEAR_OF_RUNWAY:
                return Clearances()
            case _:
                return self
