"""What a column's name says it is: its words, freed of unit and side, against the words of each channel.

The synonyms are those of the trade; how much a strange word beside them costs is ours.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from sortiewright.recording.unit_names import unit_in_name

Side = str
"""``left``, ``right``, ``nose``, a number as text, or empty."""

_SYNONYMS: dict[str, str] = {
    "alt": "altitude", "baro": "pressure", "barometric": "pressure", "press": "pressure",
    "palt": "pressure altitude",
    "msl": "sea level", "amsl": "sea level", "asl": "sea level", "sl": "sea level", "radalt": "radio height",
    "ra": "radio height", "radar": "radio", "agl": "above ground", "hagl": "height above ground",
    "hgt": "height",
    "gs": "ground speed", "gspd": "ground speed", "groundspeed": "ground speed", "gnd": "ground",
    "spd": "speed",
    "velocity": "speed", "vel": "speed", "ias": "indicated airspeed", "kias": "indicated airspeed",
    "cas": "calibrated airspeed", "kcas": "calibrated airspeed", "tas": "true airspeed",
    "ktas": "true airspeed",
    "vc": "calibrated airspeed", "vtrue": "true airspeed", "vg": "ground speed", "aspd": "airspeed",
    "vs": "vertical speed", "vsi": "vertical speed", "vvi": "vertical speed", "ivv": "vertical speed",
    "vspeed": "vertical speed", "roc": "vertical speed", "hdot": "vertical speed", "varo": "vertical speed",
    "vert": "vertical", "climbrate": "vertical speed", "verticalspeed": "vertical speed",
    "hdg": "heading", "psi": "heading", "trk": "track", "cog": "track", "theta": "pitch", "phi": "roll",
    "bank": "roll", "aoa": "alpha", "aos": "beta", "sideslip": "beta", "lat": "latitude", "lon": "longitude",
    "long": "longitude", "lng": "longitude", "nz": "load factor normal", "ny": "load factor lateral",
    "nx": "load factor longitudinal", "gload": "load factor", "gforce": "load factor",
    "loadfactor": "load factor",
    "accel": "acceleration", "acc": "acceleration", "oat": "outside temperature", "sat": "static temperature",
    "temp": "temperature", "wow": "weight on wheels", "onground": "on ground", "squat": "weight on wheels",
    "thr": "throttle", "pla": "throttle", "tla": "throttle", "rpm": "engine speed", "n2": "engine speed core",
    "nh": "engine speed core", "n1": "fan speed", "nl": "fan speed", "egt": "exhaust temperature",
    "tgt": "exhaust temperature", "itt": "exhaust temperature", "ff": "fuel flow", "wf": "fuel flow",
    "ab": "afterburner", "reheat": "afterburner", "eng": "engine", "qty": "quantity", "gw": "gross weight",
    "auw": "gross weight", "mass": "weight", "wt": "weight", "cg": "centre gravity", "center": "centre",
    "flaps": "flap", "lef": "slat", "slats": "slat", "undercarriage": "gear", "ldg": "landing",
    "lg": "landing gear",
    "sb": "speedbrake", "speedbrakes": "speedbrake", "spdbrk": "speedbrake", "airbrake": "speedbrake",
    "airbrakes": "speedbrake", "tailhook": "hook", "chute": "chute", "parachute": "chute", "pos": "position",
    "posn": "position", "brk": "brake", "brakes": "brake", "elev": "elevator", "stab": "tailplane",
    "stabilator": "tailplane", "ail": "aileron", "rud": "rudder", "pedal": "pedals", "lateral": "lateral",
    "dir": "direction", "wspd": "wind speed", "wdir": "wind direction", "fq": "fuel quantity",
    "oilp": "oil pressure",
    "secs": "time", "seconds": "time", "timestamp": "time", "millis": "time", "msec": "time", "ms": "time",
    "datetime": "date time", "elapsed": "elapsed",
    "speedbrake": "speedbrake", "ail.": "aileron", "longitudinal": "longitudinal", "vertical": "vertical",
    "acceleration": "acceleration", "lights": "light", "ext": "extension", "mach": "mach", "machno": "mach",
    "param": "", "plane": "", "aircraft": "", "own": "", "ownship": "", "value": "", "data": "", "actual": "",
    "current": "", "fcs": "", "velocities": "", "attitude": "", "ahrs": "", "ins": "", "gps": "", "adc": "",
    "the": "", "of": "", "in": "", "sensor": "", "ac": "", "sim": "", "simulation": "", "number": "",
    "angle": "",
    "cockpit": "", "indicator": "", "state": "", "status": "", "body": "", "total": "",
}  # fmt: skip
_RUN_TOGETHER: dict[str, str] = {
    "airspeed": "airspeed", "groundspeed": "ground speed", "verticalspeed": "vertical speed",
    "trueairspeed": "true airspeed", "indicatedairspeed": "indicated airspeed", "machnumber": "mach",
    "pitchrate": "pitch rate", "rollrate": "roll rate", "yawrate": "yaw rate", "fuelflow": "fuel flow",
    "weightonwheels": "weight on wheels", "angleofattack": "alpha", "pressurealtitude": "pressure altitude",
    "windspeed": "wind speed", "winddirection": "wind direction", "speedbrake": "speedbrake",
    "simtime": "time", "onground": "on ground", "dragchute": "drag chute", "trueheading": "true heading",
}  # fmt: skip
_WRITTEN_APART = tuple(
    (re.compile(pattern, re.IGNORECASE), meant)
    for pattern, meant in (
        (r"rad(?:ar|io)?[ _-]?alt(?:itude|imeter)?", " radalt "),
        (r"weight[ _-]?on[ _-]?wheels?", " wow "),
        (r"on[ _-]?(?:the[ _-]?)?ground", " onground "),
        (r"angle[ _-]?of[ _-]?attack|aoa", " aoa "),
        (r"flight[ _-]?path[ _-]?angle", " gamma "),
    )
)
"""Names of several words that mean another thing one by one."""
_LEFT = frozenset({"left", "l", "lh", "port", "lt", "lhs"})
_RIGHT = frozenset({"right", "r", "rh", "starboard", "stbd", "rt", "rhs"})
# A word that makes of a quantity something else than what the aircraft did.
_ELSE = frozenset(
    {"cmd", "command", "commanded", "target", "selected", "select", "sel", "set", "setting", "bug", "ap",
     "autopilot",
     "max", "min", "limit", "ref", "reference", "error", "demand", "desired", "rate", "dot", "trim",
     "wind", "gear",
     "tank", "flap", "waypoint", "wp", "dest", "destination", "home", "lead", "wingman",
     "magnetic", "mag",
     "variation", "delta", "std", "average", "avg", "density", "thrust", "range", "bearing", "distance",
     "light",
     "warning", "pump", "valve", "handle", "lever", "switch", "door", "steering", "fuel", "oil", "brake",
     "wheel",
     "rotor", "prop", "propeller", "glide", "localizer", "cabin", "landing", "oxygen", "battery", "bus",
     "nav"}
)  # fmt: skip

PHRASES: dict[str, tuple[str, ...]] = {
    "time": ("time", "elapsed", "elapsed time", "date time", "t", "utc", "clock"),
    "latitude_deg": ("latitude",),
    "longitude_deg": ("longitude",),
    "altitude": ("altitude", "altitude sea level", "true altitude", "height sea level", "h sea level",
                 "altitude indicated"),
    "height_above_ground": ("height above ground", "altitude above ground", "above ground", "radio height",
                            "radio altitude", "height", "h above ground", "radio above ground"),
    "ground_speed": ("ground speed", "speed over ground"),
    "track_deg": ("track", "ground track", "track true", "course over ground"),
    "vertical_speed": ("vertical speed", "climb rate", "rate climb", "h dot", "vertical rate"),
    "calibrated_airspeed": ("calibrated airspeed",),
    "indicated_airspeed": ("indicated airspeed", "airspeed", "airspeed indicated"),
    "true_airspeed": ("true airspeed", "airspeed true"),
    "mach_number": ("mach",),
    "pressure_altitude": ("pressure altitude",),
    "outside_air_temperature": ("outside temperature", "outside air temperature", "static temperature",
                                "static air temperature", "ambient temperature", "air temperature"),
    "wind_speed": ("wind speed",),
    "wind_from_deg": ("wind direction", "wind from", "wind direction from"),
    "pitch": ("pitch", "pitch attitude"),
    "bank": ("roll", "roll attitude"),
    "true_heading_deg": ("heading", "true heading", "heading true", "yaw"),
    "roll_rate": ("roll rate", "p rate", "p"),
    "pitch_rate": ("pitch rate", "q rate", "q"),
    "yaw_rate": ("yaw rate", "r rate", "heading rate", "r"),
    "load_factor_normal": ("load factor normal", "load factor", "normal acceleration",
    "vertical acceleration",
                           "acceleration z", "g", "load factor vertical", "g normal", "g vertical"),
    "load_factor_longitudinal": ("load factor longitudinal", "longitudinal acceleration", "acceleration x",
                                 "g longitudinal"),
    "load_factor_lateral": ("load factor lateral", "lateral acceleration", "acceleration y", "g lateral"),
    "angle_of_attack": ("alpha", "attack"),
    "sideslip": ("beta", "slip"),
    "weight_on_wheels": ("weight on wheels", "weight wheels", "on ground", "ground contact",
    "gear weight on wheels",
                         "gear on ground"),
    "brake": ("brake", "wheel brake", "brake pedals", "toe brake", "brake position"),
    "wheel_speed": ("wheel speed",),
    "parking_brake_set": ("parking brake", "park brake"),
    "gross_mass": ("gross weight", "weight", "all up weight"),
    "fuel_mass": ("fuel", "fuel quantity", "fuel weight", "fuel remaining", "fuel on board", "fuel level"),
    "throttle": ("throttle", "throttle position", "throttle lever", "power lever", "engine throttle",
                 "engine throttle position"),
    "engine_speed": ("engine speed", "engine speed core", "engine engine speed", "engine engine speed core"),
    "fan_speed": ("fan speed", "engine fan speed"),
    "exhaust_temperature": ("exhaust temperature", "engine exhaust temperature", "exhaust gas temperature"),
    "fuel_flow": ("fuel flow", "engine fuel flow"),
    "nozzle_position": ("nozzle", "nozzle position", "engine nozzle", "engine nozzle position"),
    "oil_pressure": ("oil pressure", "engine oil pressure"),
    "afterburner_stage": ("afterburner", "afterburner stage", "engine afterburner", "afterburner on",
                          "afterburner flag", "afterburner lit"),
    "engine_running": ("engine running",),
    "flap_position": ("flap", "flap position", "flap extension"),
    "slat_position": ("slat", "slat position", "leading edge flap"),
    "gear_position": ("gear", "gear position", "landing gear", "landing gear position", "gear extension",
                      "gear down"),
    "speedbrake_position": ("speedbrake", "speedbrake position", "speed brake"),
    "hook_position": ("hook", "hook position", "arresting hook"),
    "drag_chute": ("drag chute", "chute", "brake chute"),
    "canopy_position": ("canopy", "canopy position"),
    "stick_pitch": ("stick pitch", "pitch stick", "longitudinal stick", "stick longitudinal", "stick y",
                    "pitch input", "elevator input"),
    "stick_roll": ("stick roll", "roll stick", "lateral stick", "stick lateral", "stick x", "roll input",
                   "aileron input"),
    "pedals": ("pedals", "rudder pedals", "yaw input", "rudder input", "pedals position"),
    "pitch_trim": ("pitch trim", "trim pitch", "elevator trim"),
    "tailplane_angle": ("tailplane", "tailplane position", "elevator", "elevator position"),
    "aileron_angle": ("aileron", "aileron position"),
    "rudder_angle": ("rudder", "rudder position"),
    "simulation_paused": ("paused", "pause"),
    "time_acceleration": ("time acceleration", "rate simulation", "time compression"),
}  # fmt: skip
"""Words of each channel after synonyms; of sided channels without their side."""
SIDED = frozenset(
    {"throttle", "engine_speed", "fan_speed", "exhaust_temperature", "fuel_flow", "nozzle_position",
     "oil_pressure",
     "afterburner_stage", "engine_running", "brake", "wheel_speed", "weight_on_wheels"}
)  # fmt: skip
_PHRASE_WORDS = {
    channel: tuple(frozenset(phrase.split()) for phrase in phrases) for channel, phrases in PHRASES.items()
}


@dataclass(frozen=True, slots=True)
class NameMatch:
    """How well a column's name fits a channel: ``score`` 1 says exactly this, 0.3 might be."""

    channel: str
    """Without side for one of ``SIDED``."""
    side: Side
    score: float
    is_magnetic: bool


def name_matches(column: str) -> list[NameMatch]:
    """Return the channels that a column's name may mean, best first."""
    bare, _ = unit_in_name(column)
    words, side = _words(bare)
    found: list[NameMatch] = []
    is_magnetic = bool({"mag", "magnetic"} & set(words))
    for channel, phrases in _PHRASE_WORDS.items():
        score = max(_score(words, phrase) for phrase in phrases)
        if channel not in SIDED and side not in ("", "0"):
            # A left or second pitch is not the pitch, but there may be only this one.
            score *= 0.6
        if score >= 0.3:
            found.append(NameMatch(channel, side if channel in SIDED else "", score, is_magnetic))
    return sorted(found, key=lambda one: -one.score)


def _score(words: Sequence[str], phrase: frozenset[str]) -> float:
    there = set(words)
    if not phrase <= there:
        return 0.0
    rest = there - phrase
    cost = sum(0.5 if word in _ELSE else 0.15 for word in rest)
    # More words that fit are better than fewer: ground speed against speed of the ground.
    return max(0.0, min(1.0, 1.0 - cost + 0.01 * (len(phrase) - 1)))


def _words(name: str) -> tuple[list[str], Side]:
    """Return a name's words after synonyms, and which side or number it has."""
    for pattern, meant in _WRITTEN_APART:
        name = pattern.sub(meant, name)
    joined = re.sub(r"(?<![A-Za-z0-9])([nN][12HLhl]|[nN][xyzXYZ])(?![A-Za-z])", r" \1# ", name)
    pattern = r"[nN][12xyzHLXYZhl](?=#)|[A-Z]+(?=[A-Z][a-z])|[A-Z]?[a-z]+|[A-Z]+|\d+"
    raw: list[str] = re.findall(pattern, joined)
    words: list[str] = []
    side = ""
    for token in raw:
        word = token.lower()
        if word.isdigit():
            side = side or word
        elif word in _LEFT and len(raw) > 1:
            side = "left"
        elif word in _RIGHT and len(raw) > 1:
            side = "right"
        elif word == "nose":
            side = "nose"
        else:
            words += _RUN_TOGETHER.get(word, _SYNONYMS.get(word, word)).split()
    return list(dict.fromkeys(word for word in words if word != "main")), side


def sides_of(sides: Sequence[Side], channel: str) -> dict[Side, str]:
    """Return the channel's ending for each side that its columns have: 0 and 1, or 1 and 2."""
    numbers = sorted({int(side) for side in sides if side.isdigit()})
    if channel == "weight_on_wheels" and len(numbers) == 3:
        endings = dict(zip(map(str, numbers), ("_nose", "_left", "_right"), strict=True))
    else:
        endings = {str(number): ending for number, ending in zip(numbers, ("_left", "_right"), strict=False)}
    is_alone = len(set(sides)) == 1 and channel not in ("brake", "wheel_speed", "weight_on_wheels")
    named = {"left": "_left", "right": "_right", "nose": "_nose", "": ""}
    if is_alone and sides[0].isdigit():
        return {sides[0]: ""}
    return {**named, **endings}
