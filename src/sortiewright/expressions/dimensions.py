"""What kind of number arithmetic gives."""

from __future__ import annotations

TEMPERATURE, TEMPERATURE_DIFFERENCE = "K", "delta_degC"

# Powers of metre, kilogram, second, radian, kelvin. A moment and an energy have the same powers; force times
# length is taken for a moment, which is what loading multiplies.
_POWERS: dict[str, tuple[int, int, int, int, int]] = {
    "": (0, 0, 0, 0, 0),
    "m": (1, 0, 0, 0, 0),
    "m2": (2, 0, 0, 0, 0),
    "m3": (3, 0, 0, 0, 0),
    "kg": (0, 1, 0, 0, 0),
    "s": (0, 0, 1, 0, 0),
    "m/s": (1, 0, -1, 0, 0),
    "rad": (0, 0, 0, 1, 0),
    "rad/s": (0, 0, -1, 1, 0),
    "1/rad": (0, 0, 0, -1, 0),
    "N": (1, 1, -2, 0, 0),
    "Pa": (-1, 1, -2, 0, 0),
    TEMPERATURE_DIFFERENCE: (0, 0, 0, 0, 1),
    "J": (2, 1, -2, 0, 0),
    "N.m": (2, 1, -2, 0, 0),
    "kg/s": (0, 1, -1, 0, 0),
    "kg/m3": (-3, 1, 0, 0, 0),
}
_BY_POWERS = {powers: unit for unit, powers in _POWERS.items()}


def sum_unit(operator: str, left: str, right: str) -> str | None:
    """Return the SI unit of a sum or difference (``+`` or ``-``), or None if there is no such thing."""
    if TEMPERATURE in (left, right):
        if operator == "-" and left == right:
            return TEMPERATURE_DIFFERENCE
        changed = left == TEMPERATURE and right == TEMPERATURE_DIFFERENCE
        return TEMPERATURE if changed or (operator == "+" and {left, right} == _SCALE_AND_CHANGE) else None
    return left if left == right else None


def product_unit(operator: str, left: str, right: str) -> str | None:
    """Return the SI unit of a product or quotient (``*`` or ``/``), or None if it is not one that we know.

    A temperature is on a scale, so twice a temperature means nothing.
    """
    if TEMPERATURE in (left, right):
        return None
    if operator == "/" and left == right:
        return ""
    if right == "" or (left == "" and operator == "*"):
        return left or right
    if left not in _POWERS or right not in _POWERS:
        return None
    sign = 1 if operator == "*" else -1
    powers = zip(_POWERS[left], _POWERS[right], strict=True)
    metre, kilogram, second, radian, kelvin = (one + sign * other for one, other in powers)
    return _BY_POWERS.get((metre, kilogram, second, radian, kelvin))


_SCALE_AND_CHANGE = {TEMPERATURE, TEMPERATURE_DIFFERENCE}
