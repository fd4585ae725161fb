(two cutters called by number; one long spiral with many turns a block, and lines across the axis)
G21 G17 G90 G94
M3 S12000
G0 Z40
G0 Y0
G0 X22
G1 Z22 F300
G1 X95 A4000 F2000
G0 Z40
T3 M6
M3 S12000
G0 X20 Y-30
G1 Z12 F300
G1 X90 Y30 A3600 F900
G1 X25 Y-10 Z14 A4000
G0 Z18
G0 X60 Y3
G0 Z40
M5
M30
