"""Exact constants and the unit each name suffix stands for."""

STANDARD_GRAVITY_M_PER_S2 = 9.80665  # CGPM 1901, resolution 3 (exact)
KG_PER_LB = 0.45359237  # International yard and pound agreement, 1959 (exact)
LB_PER_STONE = 14  # Weights and Measures Act 1985, schedule 1 (exact)

DISPLAY_UNITS = ("kg", "lb")  # in which loads are shown to people
KG_PER_UNIT = {"kg": 1.0, "lb": KG_PER_LB, "stone": LB_PER_STONE * KG_PER_LB}

# Longest suffix first, so that the most specific one is found.
SUFFIX_UNIT = {
    "_rad_per_s": "rad/s",
    "_deg_per_s": "deg/s",
    "_n_per_m": "N/m",
    "_m_per_s2": "m/s2",
    "_m_per_s": "m/s",
    "_n_m": "N m",
    "_frac": "1",
    "_deg": "deg",
    "_rad": "rad",
    "_nm": "N m",
    "_kg": "kg",
    "_hz": "Hz",
    "_m": "m",
    "_s": "s",
    "_n": "N",
    "_w": "W",
    "_j": "J",
}
