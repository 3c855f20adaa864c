"""The units in which the flight-dynamics library counts, in SI."""

FOOT = 0.3048  # m, exact
INCH = 0.0254  # m, exact
POUND = 0.45359237  # kg, exact
POUND_FORCE = 4.4482216152605  # N, exact: POUND times standard gravity
KNOT = 1852.0 / 3600.0  # m/s, exact
RANKINE = 5.0 / 9.0  # K, exact
POUNDS_A_SQUARE_FOOT = POUND_FORCE / FOOT**2  # Pa
