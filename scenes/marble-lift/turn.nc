(marble lift: the rod turned true to 59, and the entry pocket roughed at A0)
(cutter 1, flat 12; X0 at the jaws, Z0 on the raw skin)
G21 G17 G90 G94
M3 S14000
G0 Z15
G0 X8 Y0 A0
G0 Z1
G93
(out, 0.3 deep)
G1 Z-0.3 A360 F8
G1 X282 A12960 F0.25
G1 A13320 F8
(and back to A0)
G1 Z-0.5 A12960 F8
G1 X8 A360 F0.25
G1 A0 F8
G94
G0 Z15
(pocket, three depths, 1.2 left on the walls and 1 on the floor)
G0 X15.2 Y-2.8
G0 Z0.5
G1 X20.8 Z-2.5 F400
G1 Y2.8 F900
G1 X15.2
G1 Y-2.8
G1 X20.8 Z-4.8 F400
G1 Y2.8 F900
G1 X15.2
G1 Y-2.8
G1 X20.8 Z-7 F400
G1 Y2.8 F900
G1 X15.2
G1 Y-2.8
G1 X18 Y0
G1 X15.2 Y-2.8
G0 Z15
M5
M30
