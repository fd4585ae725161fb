(a blank at the limits: three diameters free, a grip of a third)
G21 G17 G90 G94
M3 S12000
G0 Z40
G0 X30 Y0 A0
G0 Z24
G93
G1 Z19 A360 F6
G1 X60 A3600 F0.5
G94
G0 Z40
M5
M30
