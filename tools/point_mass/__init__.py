"""Takeoff, stop and landing of a pack's aircraft by a short, separate road: one case, small time steps.

Nothing here comes from the program's own physics. Shared are the pack's numbers and what they mean: thrust
changes evenly over the pack's times; spooling up takes the part of the idle to military time that the thrust
step takes; drag due to lift is what drag is over its value at zero lift; a takeoff continued on one engine
counts to lift-off, and a rejected one is on three wheels.
`check_dotterel.py` and `check_whinchat.py` use it, and the values of the packs' book.yaml were found with it.
SI throughout; floats only, no arrays.

References
----------
[1] ISO 2533, Standard Atmosphere.
[2] Anderson, Introduction to Flight, section 6.15: ground run, and the factor of ground effect.
[3] Anderson, Aircraft Performance and Design, sections 4.2 and 6.7: equations of motion, flare. From memory.
[4] 14 CFR 25.149: minimum control speed, no help from the nosewheel. From memory.
"""
