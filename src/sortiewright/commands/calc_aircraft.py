"""Computations on the aircraft: a level turn, a shift of weight."""

from __future__ import annotations

from sortiewright.commands import answer as out
from sortiewright.commands.answer import Answer, Line, print_answer
from sortiewright.commands.faults import UsageError
from sortiewright.commands.inputs import Angle, Arm, Mass, Number, Speed
from sortiewright.commands.output import FOR_PEOPLE, Output


def turn(
    tas: Speed,
    /,
    *,
    bank: Angle | None = None,
    load_factor: Number | None = None,
    output: Output = FOR_PEOPLE,
) -> None:
    """Rate, radius, bank and load factor of a level turn.

    Example: sortiewright calc turn 450 --load-factor 5

    Parameters
    ----------
    tas
        True airspeed (kt).
    bank
        Angle of bank.
    load_factor
        In g, instead of the bank.
    """
    from sortiewright.performance import level_turn

    flown = level_turn(tas, bank=bank, load_factor=load_factor)
    finite = float(flown.rate) > 0.0
    answer = Answer(
        "Level turn",
        (
            Line("tas", "TAS", tas, out.SPEED),
            Line("given_bank", "bank", bank, out.ANGLE),
            Line("given_load_factor", "load factor", load_factor, out.LOAD_FACTOR),
        ),
        (
            Line("rate", "Rate of turn", float(flown.rate), out.TURN_RATE),
            Line("radius", "Radius", float(flown.radius) if finite else None, out.LENGTH),
            Line("bank", "Bank", float(flown.bank), out.ANGLE),
            Line("load_factor", "Load factor", float(flown.load_factor), out.LOAD_FACTOR),
            Line("time_of_circle", "Full circle", float(flown.time_of_circle) if finite else None, out.TIME),
        ),
        ("Level and coordinated; whether wing and engines allow it is not asked here.",),
    )
    print_answer(answer, output)


def weight_shift(
    *,
    weight: Mass,
    arm: Arm,
    from_arm: Arm,
    to_arm: Arm,
    moved: Mass | None = None,
    wanted_arm: Arm | None = None,
    output: Output = FOR_PEOPLE,
) -> None:
    """Centre of gravity after weight is moved, or the weight to move for a wanted centre of gravity.

    Example: sortiewright calc weight-shift --weight 46000 --arm 340 --from-arm 420 --to-arm 250 --moved 300

    Parameters
    ----------
    weight
        Total weight, which stays the same.
    arm
        Of the centre of gravity now, aft of the datum.
    from_arm
        Where weight is taken away.
    to_arm
        Where it is put.
    moved
        Weight that is moved: gives the new centre of gravity.
    wanted_arm
        Centre of gravity to reach: gives the weight to move.
    """
    if (moved is None) == (wanted_arm is None):
        raise UsageError("give --moved or --wanted-arm, one of the two")
    if weight <= 0.0:
        raise UsageError("--weight must be above zero")
    from sortiewright.performance import arm_after_shift, mass_to_shift

    notes: tuple[str, ...] = ()
    if moved is not None:
        new_arm = float(arm_after_shift(weight, arm, moved, from_arm, to_arm))
    else:
        assert wanted_arm is not None
        moved, new_arm = float(mass_to_shift(weight, arm, wanted_arm, from_arm, to_arm)), wanted_arm
        if moved < 0.0:
            notes = ("Negative: move that weight the other way.",)
        elif moved > weight:
            notes = ("More than the whole weight: between these arms it cannot be done.",)
    answer = Answer(
        "Weight shift",
        (
            Line("weight", "weight", weight, out.MASS),
            Line("arm", "centre of gravity", arm, out.ARM),
            Line("from_arm", "from", from_arm, out.ARM),
            Line("to_arm", "to", to_arm, out.ARM),
        ),
        (
            Line("moved", "Weight moved", moved, out.MASS),
            Line("new_arm", "New centre of gravity", new_arm, out.ARM, "aft of the datum"),
            Line("arm_change", "Change", new_arm - arm, out.ARM, "aft positive"),
        ),
        notes,
    )
    print_answer(answer, output)
