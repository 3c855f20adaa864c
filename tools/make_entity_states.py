"""Make tests/data/link/entity_states.json: entity states written by libraries that share no code with ours.

Bytes by opendis 1.0 (its pin on an old NumPy keeps it out of the test dependencies: install it with
``pip install --no-deps opendis``), Euler angles by its RangeCoordinates, earth-centred places by pyproj 3.7.
Attitudes, places and velocities are drawn at random; the seed is fixed.

Usage: python tools/make_entity_states.py
"""

import io
import json
import math
import random
import struct
from pathlib import Path

from opendis.DataOutputStream import DataOutputStream
from opendis.dis7 import (
    DeadReckoningParameters,
    EntityID,
    EntityMarking,
    EntityStatePdu,
    EntityType,
    EulerAngles,
    VariableParameter,
    Vector3Double,
    Vector3Float,
)
from opendis.RangeCoordinates import GPS
from pyproj import Transformer

OUT = Path(__file__).parents[1] / "tests" / "data" / "link" / "entity_states.json"
TO_EARTH_CENTRED = Transformer.from_crs("EPSG:4979", "EPSG:4978")  # WGS 84: latitude, longitude, height


def part(kind: int, value: float) -> VariableParameter:
    """Return an articulated part: change, attached to, type, value as float, padding."""
    return VariableParameter(0, *struct.unpack(">dIHB", struct.pack(">BHIf4x", 0, 0, kind, value)))


def local_to_earth(latitude: float, longitude: float, north: float, east: float, down: float):
    """Return a local velocity in earth axes by a difference of two places 10 ms apart."""
    metres = 1e-2
    lat_step = math.degrees(north * metres / 6_378_137.0)
    here = TO_EARTH_CENTRED.transform(latitude, longitude, 0.0)
    ahead = [
        TO_EARTH_CENTRED.transform(latitude + lat_step, longitude, 0.0),
        TO_EARTH_CENTRED.transform(latitude, longitude + 1e-7, 0.0),
        TO_EARTH_CENTRED.transform(latitude, longitude, -1.0),
    ]
    units = []
    for point in ahead:
        step = [a - b for a, b in zip(point, here, strict=True)]
        length = math.hypot(*step) or 1.0
        units.append([one / length for one in step])
    sizes = (abs(north), east, down)
    return [sum(s * u[i] for s, u in zip(sizes, units, strict=True)) for i in range(3)]


def one(draw: random.Random) -> dict:
    latitude, longitude = draw.uniform(-85, 85), draw.uniform(-180, 180)
    height = draw.uniform(-100, 20_000)
    heading, pitch, bank = draw.uniform(0, 360), draw.uniform(-1.4, 1.4), draw.uniform(-3.1, 3.1)
    north, east, down = draw.uniform(-300, 300), draw.uniform(-300, 300), draw.uniform(-60, 60)
    gear, hook, brake = draw.random(), draw.random(), draw.random()
    flaps = draw.random(), draw.random()
    rates = [draw.uniform(-1, 1) for _ in range(3)]
    appearance = draw.getrandbits(32)
    place = TO_EARTH_CENTRED.transform(latitude, longitude, height)
    *_, psi, theta, phi = GPS().llarpy2ecef(
        math.radians(latitude), math.radians(longitude), height, bank, pitch, math.radians(heading)
    )
    velocity = local_to_earth(latitude, longitude, north, east, down)
    marking = EntityMarking(1)
    marking.setString("PLOVER 1")
    pdu = EntityStatePdu(
        EntityID(*(draw.randrange(1, 65535) for _ in range(3))),
        1,
        EntityType(1, 2, 0, 1, 2, 3, 4),
        EntityType(1, 2),
        Vector3Float(*velocity),
        Vector3Double(*place),
        EulerAngles(psi, theta, phi),
        appearance,
        DeadReckoningParameters(4, [0] * 15, Vector3Float(0, 0, 0), Vector3Float(*rates)),
        marking,
        0,
        [part(3073, gear), part(3105, hook), part(3137, brake), part(1057, flaps[0]), part(1089, flaps[1])],
    )
    pdu.pduType = pdu.protocolFamily = 1  # the library leaves 0 where a PDU is made and not read
    pdu.pduStatus = 0
    pdu.timestamp = draw.getrandbits(32)
    pdu.length = 144 + 16 * 5
    pdu.exerciseID = 3
    stream = io.BytesIO()
    pdu.serialize(DataOutputStream(stream))
    entity = pdu.entityID
    return {
        "bytes": stream.getvalue().hex(),
        "entity": [entity.siteID, entity.applicationID, entity.entityID]
        if hasattr(entity, "siteID")
        else list(vars(entity).values()),
        "timestamp": pdu.timestamp,
        "appearance": appearance,
        "latitude_deg": latitude,
        "longitude_deg": longitude,
        "height": height,
        "place": list(place),
        "true_heading_deg": heading,
        "pitch": pitch,
        "bank": bank,
        "euler": [psi, theta, phi],
        "velocity_local": [north, east, down],
        "velocity": velocity,
        "rates": rates,
        "gear": gear,
        "hook": hook,
        "speedbrake": brake,
        "flaps": list(flaps),
    }


def main() -> None:
    """Write the file."""
    draw = random.Random(1278)
    states = [one(draw) for _ in range(60)]
    OUT.parent.mkdir(parents=True, exist_ok=True)
    OUT.write_text(
        json.dumps({"source": __doc__.split("\n\n")[1], "states": states}, indent=1) + "\n", "utf-8"
    )
    print(f"{OUT.name}: {len(states)} states")


if __name__ == "__main__":
    main()
