"""A pack from a flight model of the open flight-dynamics library JSBSim (optional extra ``fdm``)."""

from sortiewright.pack_sampling.flight_model import FlightModel, model_names
from sortiewright.pack_sampling.pack_contents import pack_files
from sortiewright.pack_sampling.pack_folder import require_new_folder, write_pack_folder
from sortiewright.pack_sampling.remarks import placeholder_remarks
from sortiewright.pack_sampling.sampling import SampledAircraft, sample_model
from sortiewright.pack_sampling.scripted_takeoff import FlownTakeoff, TakeoffOrder, fly_takeoff_script

__all__ = [
    "FlightModel",
    "FlownTakeoff",
    "SampledAircraft",
    "TakeoffOrder",
    "fly_takeoff_script",
    "model_names",
    "pack_files",
    "placeholder_remarks",
    "require_new_folder",
    "sample_model",
    "write_pack_folder",
]
