(comes down beyond the free end, lower than the corners, and goes in from there)
G21 G17 G90 G94
M3 S12000
G0 Z40
G0 X88 Y0 A0
G0 Z19
G1 X84 A360 F300
G93
G1 X30 A4000 F0.5
G1 A4360 F8
G94
G0 Z40
M5
M30
