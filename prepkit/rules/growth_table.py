"""Weight at birth by week from 33+0 to 42+0: 3rd, 50th and 97th centile. May import: nothing.

Source: INTERGROWTH-21st newborn size standards, Villar 2014, doi 10.1016/S0140-6736(14)60932-6. Published in kg to two
places; kept here as whole grams, by completed weeks.
"""

BOYS: dict[int, tuple[int, int, int]] = {
    33: (1180, 1950, 2820),
    34: (1450, 2220, 3080),
    35: (1700, 2470, 3320),
    36: (1930, 2690, 3540),
    37: (2130, 2890, 3740),
    38: (2320, 3070, 3920),
    39: (2490, 3240, 4080),
    40: (2630, 3380, 4220),
    41: (2760, 3510, 4350),
    42: (2880, 3620, 4460),
}

GIRLS: dict[int, tuple[int, int, int]] = {
    33: (1200, 1860, 2610),
    34: (1470, 2130, 2900),
    35: (1710, 2380, 3160),
    36: (1920, 2600, 3390),
    37: (2110, 2800, 3600),
    38: (2280, 2970, 3780),
    39: (2420, 3130, 3940),
    40: (2550, 3260, 4080),
    41: (2650, 3370, 4200),
    42: (2740, 3460, 4300),
}
