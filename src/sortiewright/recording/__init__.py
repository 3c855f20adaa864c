"""Recordings of flights: reading them, what they are divided into, and what was found in them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from sortiewright.recording.calibration import (
        BeforeAfter,
        Calibration,
        Estimate,
        calibrate_points,
        calibrate_runs,
    )
    from sortiewright.recording.calibration_fit import (
        CannotTell,
        Prior,
    )
    from sortiewright.recording.calibration_points import (
        HandbookPoint,
        read_points,
    )
    from sortiewright.recording.calibration_runs import (
        RunObservation,
        run_observation,
    )
    from sortiewright.recording.causes import (
        Cause,
        Split,
    )
    from sortiewright.recording.channel_map import (
        ChannelMap,
        ColumnUse,
        load_channel_map,
        map_text,
    )
    from sortiewright.recording.comparison_air import (
        altimeter_setting,
    )
    from sortiewright.recording.comparison_causes import (
        takeoff_as_flown,
    )
    from sortiewright.recording.comparison_conditions import (
        Difference,
        Tolerances,
    )
    from sortiewright.recording.comparison_flown import (
        FlownTakeoff,
        PitchRamp,
        count_takeoffs,
        flown_takeoff,
    )
    from sortiewright.recording.comparison_landing import (
        LandingComparison,
        compare_landing,
    )
    from sortiewright.recording.comparison_landing_curves import (
        LandingPicture,
    )
    from sortiewright.recording.comparison_met import (
        Known,
    )
    from sortiewright.recording.comparison_rejected import (
        RejectedComparison,
        compare_rejected,
    )
    from sortiewright.recording.comparison_takeoff import (
        TakeoffComparison,
        compare_takeoff,
        planned_takeoff,
        require_same_aircraft,
    )
    from sortiewright.recording.comparison_values import (
        Compared,
        RunMark,
        SpeedOverDistance,
    )
    from sortiewright.recording.debrief_record import (
        Debrief,
        FlightDebrief,
    )
    from sortiewright.recording.debriefing import (
        debrief,
    )
    from sortiewright.recording.example_flight import (
        example_recording,
    )
    from sortiewright.recording.findings import (
        Finding,
        Judged,
        Measured,
    )
    from sortiewright.recording.flights import (
        flights_of,
    )
    from sortiewright.recording.judging import (
        judge,
        judge_on,
    )
    from sortiewright.recording.judging_scope import (
        Stage,
        stage_of,
    )
    from sortiewright.recording.mapping_proposal import (
        Binding,
        Proposal,
        proposed_map,
    )
    from sortiewright.recording.measuring import (
        measure,
        measure_on,
    )
    from sortiewright.recording.moments import (
        Event,
        Flight,
        Phase,
    )
    from sortiewright.recording.phase_limits import (
        PhaseLimits,
        phase_limits_of,
    )
    from sortiewright.recording.phase_lines import (
        flight_lines,
    )
    from sortiewright.recording.place import (
        AlongRunway,
        RunwayFrame,
        along_runway,
        distance_flown,
    )
    from sortiewright.recording.quality_summary import (
        ChannelSummary,
        sample_rate,
        summarise,
    )
    from sortiewright.recording.reading import (
        read_recording,
    )
    from sortiewright.recording.reading_source import (
        check_unpacked,
    )
    from sortiewright.recording.recording import (
        Defect,
        Recording,
    )
    from sortiewright.recording.report_comparisons import (
        comparisons,
    )
    from sortiewright.recording.report_html import (
        report_page,
    )
    from sortiewright.recording.report_json import (
        debrief_to_json,
    )
    from sortiewright.recording.report_tables import (
        defects_table,
        held_list,
        missing_list,
        moments_table,
        snapshot_table,
    )
    from sortiewright.recording.report_track import (
        track_picture,
    )
    from sortiewright.recording.report_words import (
        SEVERITY_WORDS,
        clock,
        difference_shown,
        event_title,
        finding_numbers,
        finding_text,
        headline,
        phase_title,
        value_shown,
    )
    from sortiewright.recording.rule_loading import (
        has_rules,
        load_rules,
    )
    from sortiewright.recording.rule_names import (
        rule_vocabulary,
    )
    from sortiewright.recording.rules import (
        CheckedMeasurement,
        CheckedRule,
        Rules,
    )

# Each name below is imported when it is first asked for: reading needs polars, the models pydantic.
_LATE = {
    name: module
    for module, names in {
        "calibration": "BeforeAfter Calibration Estimate calibrate_points calibrate_runs",
        "calibration_fit": "CannotTell Prior",
        "calibration_points": "HandbookPoint read_points",
        "calibration_runs": "RunObservation run_observation",
        "causes": "Cause Split",
        "channel_map": "ChannelMap ColumnUse load_channel_map map_text",
        "comparison_causes": "takeoff_as_flown",
        "comparison_conditions": "Difference Tolerances",
        "comparison_air": "altimeter_setting",
        "comparison_flown": "FlownTakeoff PitchRamp count_takeoffs flown_takeoff",
        "comparison_landing": "LandingComparison compare_landing",
        "comparison_landing_curves": "LandingPicture",
        "comparison_met": "Known",
        "comparison_rejected": "RejectedComparison compare_rejected",
        "comparison_values": "Compared RunMark SpeedOverDistance",
        "debrief_record": "Debrief FlightDebrief",
        "debriefing": "debrief",
        "comparison_takeoff": "TakeoffComparison compare_takeoff planned_takeoff require_same_aircraft",
        "findings": "Finding Judged Measured",
        "flights": "flights_of",
        "judging": "judge judge_on",
        "judging_scope": "Stage stage_of",
        "mapping_proposal": "Binding Proposal proposed_map",
        "measuring": "measure measure_on",
        "moments": "Event Flight Phase",
        "phase_limits": "PhaseLimits phase_limits_of",
        "phase_lines": "flight_lines",
        "place": "AlongRunway RunwayFrame along_runway distance_flown",
        "quality_summary": "ChannelSummary sample_rate summarise",
        "reading": "read_recording",
        "reading_source": "check_unpacked",
        "recording": "Defect Recording",
        "example_flight": "example_recording",
        "report_comparisons": "comparisons",
        "report_html": "report_page",
        "report_json": "debrief_to_json",
        "report_tables": "defects_table held_list missing_list moments_table snapshot_table",
        "report_track": "track_picture",
        "report_words": (
            "SEVERITY_WORDS clock difference_shown event_title finding_numbers finding_text headline "
            "phase_title value_shown"
        ),
        "rule_loading": "has_rules load_rules",
        "rule_names": "rule_vocabulary",
        "rules": "CheckedMeasurement CheckedRule Rules",
    }.items()
    for name in names.split()
}


def __getattr__(name: str) -> Any:
    if name not in _LATE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    value = getattr(import_module(f"sortiewright.recording.{_LATE[name]}"), name)
    globals()[name] = value
    return value


__all__ = [
    "SEVERITY_WORDS",
    "AlongRunway",
    "BeforeAfter",
    "Binding",
    "Calibration",
    "CannotTell",
    "Cause",
    "ChannelMap",
    "ChannelSummary",
    "CheckedMeasurement",
    "CheckedRule",
    "ColumnUse",
    "Compared",
    "Debrief",
    "Defect",
    "Difference",
    "Estimate",
    "Event",
    "Finding",
    "Flight",
    "FlightDebrief",
    "FlownTakeoff",
    "HandbookPoint",
    "Judged",
    "Known",
    "LandingComparison",
    "LandingPicture",
    "Measured",
    "Phase",
    "PhaseLimits",
    "PitchRamp",
    "Prior",
    "Proposal",
    "Recording",
    "RejectedComparison",
    "Rules",
    "RunMark",
    "RunObservation",
    "RunwayFrame",
    "SpeedOverDistance",
    "Split",
    "Stage",
    "TakeoffComparison",
    "Tolerances",
    "along_runway",
    "altimeter_setting",
    "calibrate_points",
    "calibrate_runs",
    "check_unpacked",
    "clock",
    "compare_landing",
    "compare_rejected",
    "compare_takeoff",
    "comparisons",
    "count_takeoffs",
    "debrief",
    "debrief_to_json",
    "defects_table",
    "difference_shown",
    "distance_flown",
    "event_title",
    "example_recording",
    "finding_numbers",
    "finding_text",
    "flight_lines",
    "flights_of",
    "flown_takeoff",
    "has_rules",
    "headline",
    "held_list",
    "judge",
    "judge_on",
    "load_channel_map",
    "load_rules",
    "map_text",
    "measure",
    "measure_on",
    "missing_list",
    "moments_table",
    "phase_limits_of",
    "phase_title",
    "planned_takeoff",
    "proposed_map",
    "read_points",
    "read_recording",
    "report_page",
    "require_same_aircraft",
    "rule_vocabulary",
    "run_observation",
    "sample_rate",
    "snapshot_table",
    "stage_of",
    "summarise",
    "takeoff_as_flown",
    "track_picture",
    "value_shown",
]
