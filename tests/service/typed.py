"""What people type into the form of a visit."""

TRIAL_LENS = {
    "first_method": "grating-cards",
    "first_left_acuity": "1.2 cpd",
    "first_right_acuity": "4.8 cpd",
    "left_trial_lens_dioptres": "+29",
    "left_over_sphere": "+2.50",
    "left_over_cylinder": "-1.00",
    "left_over_axis": "180",
    "left_over_vertex_distance_mm": "12",
}
BOTH_EYES = {"first_method": "crowded-hotv", "first_left_acuity": "6/19", "first_right_acuity": "6/6"}
REFRACTED = {f"{eye}_refraction_{name}": value for eye in ("left", "right") for name, value in (("sphere", "+3.00"), ("vertex_distance_mm", "12"))}
CARDS = {
    "first_method": "grating-cards",
    "first_distance_cm": "55",
    "first_tested_first": "both",
    "first_both_acuity": "6.5 c/cm",
    "first_right_acuity": "6.5 c/cm",
    "first_left_acuity": "1.6 c/cm",
}
