(two zeros: G54 at the jaws, G55 at the middle of the blank, one on the axis, one on the surface)
G21 G17 G90 G94
M3 S12000
G54
G0 Z30
G0 X20 Y0 A0
G0 Z21
G1 Z18 F300
G1 A360 F1800
G0 Z30
G55
G0 X10
G0 Z1
G1 Z-2 F300
G1 A720 F1800
G0 Z10
G54
G0 Z30
M5
M30
