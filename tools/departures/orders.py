"""What a departure is flown to: the day, the load, and the technique with its faults."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Day:
    """The field and its weather. Headings true; wind from, kt; temperature at the field."""

    heading_deg: float = 52.0
    elevation_ft: float = 1500.0
    temperature_c: float = 20.0
    qnh_hpa: float = 1013.25
    headwind_kt: float = 0.0
    crosswind_from_left_kt: float = 0.0
    turbulence_fps: float = 6.0
    """Wind at 20 ft that the turbulence is that of."""
    lat: float = 36.412
    lon: float = -116.2035


@dataclass(frozen=True)
class Technique:
    """How it is flown. Speeds kt, heights ft over the wheels' stand, angles deg, times s."""

    taxi_kt: float = 16.0
    turn_kt: float = 12.0
    taxi_weave_deg: float = 0.0
    """The first straight is taxied to and fro about its course, every ten seconds."""
    hold_s: float = 9.0
    taxies: bool = True
    """Else it stands on the runway when the recording begins."""
    stops_on_runway: bool = True
    run_up_s: float = 8.0
    run_up_throttle: tuple[float, float] | None = None
    """Left and right; None: as for release."""
    release_throttle: float = 0.5
    """Lever command; 0.5 is military."""
    takeoff_throttle: float = 1.0
    burner_delay_s: tuple[float, float] = (1.0, 1.0)
    """From brake release, left and right."""
    burner_out_kt: float | None = None
    burner_out_engine: int = 1
    ease_kt: float | None = None
    """Levers closed in the run for ``ease_s``, then forward again."""
    ease_s: float = 2.5
    flap: float = 0.6
    speedbrake: float = 0.0
    held_brake: float = 0.0
    """Brakes kept on along the run, share."""
    held_side: str = "both"
    dab_kt: float | None = None
    """Brakes pressed in the run for ``dab_s`` with ``dab``."""
    dab_s: float = 2.5
    dab: float = 0.3
    flap_up_rolling_kt: float | None = None
    wander_ft: float = 0.0
    """The centre line is left by so much, to and fro."""
    line_up_off_deg: float = 0.0
    line_up_off_ft: float = 0.0
    rotation_kt: float = 140.0
    stick_rate: float = 1.0
    """Of full travel a second."""
    pitch_rate: float = 3.0
    attitude: float = 10.0
    over_attitude: float | None = None
    over_s: float = 2.0
    pause_pitch: float | None = None
    """The nose, so high, is lowered again to 2 degrees for ``pause_s``."""
    pause_s: float = 3.0
    sink_attitude: float | None = None
    """Nose lowered to it when ``sink_agl`` is passed, for ``sink_s``."""
    sink_s: float = 4.0
    sink_agl: float = 40.0
    climb_attitude: float = 12.0
    gear_agl: float = 60.0
    gear_kt: float | None = None
    gear_again_kt: tuple[float, float] | None = None
    """Gear selected down again, and up again."""
    flap_kt: float = 200.0
    burner_off_kt: float = 300.0
    climb_kt: float = 300.0
    top_agl: float = 2500.0
    level_s: float = 15.0
    turn_agl: float | None = 1200.0
    turn_bank: float = 30.0
    turn_deg: float = 60.0
    reject_kt: float | None = None
    fail_kt: float | None = None
    fail_agl: float | None = None
    fail_engine: int = 0
    reject_on_failure: bool = False
    react_s: float = 0.8
    brakes_after_s: float = 1.0
    brake: float = 0.45


@dataclass(frozen=True)
class Departure:
    """One departure. ``rules`` are those that must speak, ``may`` those that may as well."""

    name: str
    what: str
    day: Day = field(default_factory=Day)
    technique: Technique = field(default_factory=Technique)
    fuel_lb: tuple[float, float] = (1800.0, 1900.0)
    flaws: tuple[str, ...] = ()
    rules: tuple[str, ...] = ()
    may: tuple[str, ...] = ()
    seed: int = 1
    rate_hz: float = 20.0
