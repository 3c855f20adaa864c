"""A pack from a flight model of the open flight-dynamics library JSBSim (optional extra ``fdm``)."""

from sortiewright.pack_sampling.engine_points import (
    EngineStand,
    burner_lights,
    indexed,
    military_throttle,
    shut_down,
)
from sortiewright.pack_sampling.english_units import FOOT, INCH, KNOT, POUND, POUNDS_A_SQUARE_FOOT, RANKINE
from sortiewright.pack_sampling.first_sortie import FIRST_SORTIE, first_sortie_text
from sortiewright.pack_sampling.flight_model import FlightModel, NotAsAsked, model_fault, model_names
from sortiewright.pack_sampling.loading import SampledLoad, read_load
from sortiewright.pack_sampling.model_description import ModelDescription, describe
from sortiewright.pack_sampling.pack_contents import pack_files
from sortiewright.pack_sampling.pack_folder import require_new_folder, write_pack_folder
from sortiewright.pack_sampling.remarks import placeholder_remarks
from sortiewright.pack_sampling.sampling import SampledAircraft, sample_model
from sortiewright.pack_sampling.scripted_takeoff import FlownTakeoff, TakeoffOrder, fly_takeoff_script
from sortiewright.pack_sampling.stance import Stance, stand
from sortiewright.pack_sampling.stick import rate_command, usual_pitch_power

__all__ = [
    "FIRST_SORTIE",
    "FOOT",
    "INCH",
    "KNOT",
    "POUND",
    "POUNDS_A_SQUARE_FOOT",
    "RANKINE",
    "EngineStand",
    "FlightModel",
    "FlownTakeoff",
    "ModelDescription",
    "NotAsAsked",
    "SampledAircraft",
    "SampledLoad",
    "Stance",
    "TakeoffOrder",
    "burner_lights",
    "describe",
    "first_sortie_text",
    "fly_takeoff_script",
    "indexed",
    "military_throttle",
    "model_fault",
    "model_names",
    "pack_files",
    "placeholder_remarks",
    "rate_command",
    "read_load",
    "require_new_folder",
    "sample_model",
    "shut_down",
    "stand",
    "usual_pitch_power",
    "write_pack_folder",
]
