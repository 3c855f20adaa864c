"""Where an aerodrome lies and how high, by its ICAO code. Runways are the sortie's to state."""

from functools import lru_cache

from .runway import Aerodrome

_FOOT = 0.3048  # m
_CODE_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"


class UnknownAerodrome(LookupError):
    """No aerodrome of this code in the list; ``near_codes`` differ from it by one letter."""

    def __init__(self, code: str, near_codes: tuple[str, ...]) -> None:
        self.code = code
        self.near_codes = near_codes
        hint = f"Near: {', '.join(near_codes)}. " if near_codes else ""
        super().__init__(
            f"aerodrome {code!r} is not in the list. {hint}State its position and elevation by hand instead."
        )


def aerodrome_by_icao(code: str) -> Aerodrome:
    """Return name, position (WGS 84) and elevation (m) of an aerodrome, without runways.

    Public data of the package airportsdata: for planning a simulated flight, not surveyed. The first
    call reads 28,000 lines, about a tenth of a second. Raises UnknownAerodrome, with codes one letter off.
    """
    places = _places()
    wanted = code.strip().upper()
    if wanted not in places:
        raise UnknownAerodrome(code, _near(wanted, places))
    name, latitude, longitude, elevation = places[wanted]
    return Aerodrome(wanted, name, latitude, longitude, elevation)


def _near(code: str, places: dict[str, tuple[str, float, float, float]]) -> tuple[str, ...]:
    if not 3 <= len(code) <= 5:
        return ()
    swapped = [code[:i] + code[i + 1] + code[i] + code[i + 2 :] for i in range(len(code) - 1)]
    dropped = [code[:i] + code[i + 1 :] for i in range(len(code))]
    mistyped = [code[:i] + c + code[i + 1 :] for i in range(len(code)) for c in _CODE_LETTERS]
    added = [code[:i] + c + code[i:] for i in range(len(code) + 1) for c in _CODE_LETTERS]
    found = dict.fromkeys(one for one in (*swapped, *dropped, *mistyped, *added) if one in places)
    return tuple(found)[:6]


@lru_cache(maxsize=1)
def _places() -> dict[str, tuple[str, float, float, float]]:
    # Imported on first use: only a sortie that names a field by its code needs the list.
    import airportsdata

    return {
        code: (one["name"], one["lat"], one["lon"], one["elevation"] * _FOOT)
        for code, one in airportsdata.load("ICAO").items()
    }
