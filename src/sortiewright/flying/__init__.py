"""A plan flown in the open flight-dynamics library JSBSim by a scripted pilot (optional extra ``fdm``)."""

from sortiewright.flying.briefing import Briefing, briefing_of
from sortiewright.flying.flaws import FLAWS, Flaw, FlawKind, flaw_of, flaws_of
from sortiewright.flying.flight import STAGES, FlightOrder, FlownFlight, PlanIsNoGo, fly_plan
from sortiewright.flying.recording_files import require_recording_file, truth_file, write_flight

__all__ = [
    "FLAWS",
    "STAGES",
    "Briefing",
    "Flaw",
    "FlawKind",
    "FlightOrder",
    "FlownFlight",
    "PlanIsNoGo",
    "briefing_of",
    "flaw_of",
    "flaws_of",
    "fly_plan",
    "require_recording_file",
    "truth_file",
    "write_flight",
]
