import subprocess
import sys

import pytest

import sortiewright.air
from sortiewright.air import UnknownAerodrome, aerodrome_by_icao


# UK Aeronautical Information Publication, aerodrome reference point of EGPD, from memory: 571209N
# 0021153W, 215 ft.
def test_place_and_elevation_by_code():
    field = aerodrome_by_icao("egpd ")

    assert field.icao == "EGPD"
    assert field.latitude_deg == pytest.approx(57.2025, abs=0.01)
    assert field.longitude_deg == pytest.approx(-2.198, abs=0.01)
    assert field.elevation == pytest.approx(215 * 0.3048, abs=1.0)
    assert field.runways == ()


def test_an_unknown_code_names_near_ones():
    with pytest.raises(
        UnknownAerodrome, match=r"aerodrome 'EGDP' is not in the list. Near: .*EGPD"
    ) as caught:
        aerodrome_by_icao("EGDP")

    assert "EGPD" in caught.value.near_codes


@pytest.mark.parametrize("code", ["", "X", "NOWHERE AT ALL", "ÄÖÜ"])
def test_a_code_like_none_is_refused_without_guess(code):
    with pytest.raises(UnknownAerodrome, match="State its position and elevation by hand"):
        aerodrome_by_icao(code)


def test_the_face_of_the_room_is_complete():
    missing = [name for name in sortiewright.air.__all__ if not hasattr(sortiewright.air, name)]

    assert missing == []
    assert len(set(sortiewright.air.__all__)) == len(sortiewright.air.__all__)


def test_importing_the_room_loads_no_heavy_library():
    heavy = ("airportsdata", "astral", "geographiclib", "metar", "pygeomag", "scipy", "pint", "pydantic")
    code = f"import sys, sortiewright.air; print([one for one in {heavy!r} if one in sys.modules])"
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert found.stdout.strip() == "[]"
