"""Generic aircraft classes, as data. No type of aircraft is meant.

Speeds are knots calibrated. `source` says where the numbers come from: a published book, or
CP, common practice of the trade without a published source.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Profile:
    """How one class of aircraft is flown in the pattern."""

    name: str
    source: str
    outside_kt: float
    """Inbound, holding, crosswind, outside downwind, 90 and 45 to initial, breaking and climbing out."""
    initial_kt: float
    pattern_kt: float
    """Inside and closed downwind, and the beginning of the final turn."""
    final_kt: float
    climb_kt: float
    """The departure leg and the closed pull-up."""
    break_bank_deg: float
    turn_bank_deg: float
    """Every turn that is not the break, the closed pull-up or the final turn."""
    climb_ft_min: float
    descent_ft_min: float
    acceleration_kt_s: float
    deceleration_kt_s: float
    braking_kt_s: float


TURBOPROP_TRAINER = Profile(
    name="turboprop trainer",
    source="CNATRA P-868: 200 kt initial, 45 degrees of bank, 120 kt pattern, 100-110 kt final; the rest CP",
    outside_kt=200.0,
    initial_kt=200.0,
    pattern_kt=120.0,
    final_kt=105.0,
    climb_kt=130.0,
    break_bank_deg=45.0,
    turn_bank_deg=40.0,
    climb_ft_min=2000.0,
    descent_ft_min=1500.0,
    acceleration_kt_s=2.0,
    deceleration_kt_s=2.0,
    braking_kt_s=4.0,
)

JET_TRAINER = Profile(
    name="jet trainer",
    source="CP",
    outside_kt=230.0,
    initial_kt=250.0,
    pattern_kt=160.0,
    final_kt=130.0,
    climb_kt=180.0,
    break_bank_deg=55.0,
    turn_bank_deg=40.0,
    climb_ft_min=3000.0,
    descent_ft_min=2000.0,
    acceleration_kt_s=4.0,
    deceleration_kt_s=2.5,
    braking_kt_s=5.0,
)

FAST_JET = Profile(
    name="fast jet",
    source="CP: 60 degrees of bank, 2 g, 250-300 kt on initial",
    outside_kt=250.0,
    initial_kt=300.0,
    pattern_kt=180.0,
    final_kt=145.0,
    climb_kt=200.0,
    break_bank_deg=60.0,
    turn_bank_deg=45.0,
    climb_ft_min=4000.0,
    descent_ft_min=2500.0,
    acceleration_kt_s=5.0,
    deceleration_kt_s=3.0,
    braking_kt_s=6.0,
)

PROFILES: dict[str, Profile] = {
    profile.name: profile for profile in (TURBOPROP_TRAINER, JET_TRAINER, FAST_JET)
}
