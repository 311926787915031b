"""Which columns of the result tables are printed together, so that a table fits a page."""

from borestudy.report.sentences.words import REGISTERS

#: Columns of the flow table that are given rather than solved for.
GIVEN = (
    "case", "flow_rate_L_per_s", "throat_reynolds", "mach_number", "regime", "converged",
    "turns_turbulent",
)  # fmt: skip
#: Columns of the comparison table that a flow solve at the reference rate fills.
SOLVED = ("pressure_drop", "flow_resistance", "loss_coefficient")
#: Columns of the comparison that are printed together; a name ending in * is a beginning.
FLOWING = (
    "throat_reynolds", "pressure_drop_Pa", "flow_resistance_kPa_s_per_L",
    "flow_resistance_change_percent", "flow_resistance_change_verdict",
)  # fmt: skip
THROAT = (
    "flow_differential_resistance_kPa_s_per_L", "flow_resistance_to_throat_end_kPa_s_per_L",
    "flow_resistance_to_throat_end_change_percent", "flow_resistance_to_throat_end_change_verdict",
)  # fmt: skip
SOUNDING = (
    "resonance_Hz", "resonance_Q", "impedance_peak_Pa_s_per_m3", "resonance_change_cents",
    "resonance_change_verdict",
)  # fmt: skip
STRENGTH = (
    "resonance_Q_change_percent", "resonance_Q_change_verdict", "impedance_peak_change_percent",
    "impedance_peak_change_verdict",
)  # fmt: skip
#: A register's name to the columns of its peaks.
PEAKS = {
    name: tuple(f"peak_{number}_change_cents" for number in numbers)
    for name, numbers in REGISTERS.items()
}
#: Columns of the flow table that are printed; the file has all.
FLOW_PRINTED = (
    "case", "flow_rate_L_per_s", "throat_reynolds", "pressure_drop_Pa", "pressure_drop_low_Pa",
    "pressure_drop_high_Pa", "turns_turbulent",
)  # fmt: skip
FLOW_PARTS = (
    "case", "flow_rate_L_per_s", "pressure_drop_to_throat_end_Pa", "backbore_pressure_drop_Pa",
)  # fmt: skip
FLOW_CHANGES = (
    "case", "flow_rate_L_per_s", "pressure_drop_change_percent", "pressure_drop_change_verdict",
)  # fmt: skip
#: The same beside the extremes, where a study asks for them.
EXTREMES = (
    "case", "flow_rate_L_per_s", "pressure_drop_Pa", "laminar_pressure_drop_Pa",
    "turbulent_pressure_drop_Pa",
)  # fmt: skip
SEPARATIONS = ("case", "part", "wall", "separation_mm", "reattachment_mm")
#: Columns of the stream table that are printed.
STREAM = (
    "case", "flow_rate_L_per_s", "series_resistance_kPa_s_per_L", "resonance_Q_change_percent",
    "validity",
)  # fmt: skip
#: Columns that are printed of the onset, of its changes and of the tone.
ONSET = (
    "case", "register", "mouth_pressure_Pa", "sounding_frequency_Hz", "sounding_above_peak_cents",
    "lips_frequency_Hz", "validity",
)  # fmt: skip
ONSET_CHANGES = (
    "case", "register", "threshold_change_percent", "threshold_change_alike",
    "threshold_change_verdict", "sounding_change_cents", "sounding_change_alike",
    "sounding_change_verdict",
)  # fmt: skip
TONE_CHANGES = (
    "case", "level", "sounding_change_cents", "cup_centroid_change_percent",
    "shank_centroid_change_percent", "starts_at_change_percent", "ends_at_change_percent",
)  # fmt: skip
TONE = (
    "case", "level", "mouth_pressure_Pa", "sounding_frequency_Hz", "sounding_above_peak_cents",
    "cup_pressure_Pa", "cup_centroid_Hz", "shank_centroid_Hz", "validity",
)  # fmt: skip
#: Columns of the energy table that are printed; a name ending in * is a beginning.
ENERGY = ("case", "loss_Pa", "dissipation_*", "kinetic_energy_rise_Pa")
#: Beginnings of columns that the file alone holds, or that the report says in other places.
ELSEWHERE = (
    "loss_coefficient", "pressure_transfer", "pressure_gain", "peak_", "termination", "validity",
    "regime",
)  # fmt: skip
