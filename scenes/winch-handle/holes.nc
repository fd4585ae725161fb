(cross holes of 5 right through, stations 80 and 95)
(the point goes 22 below the axis, so that the full size leaves the wood)
G21 G17 G90 G94
M3 S9000
G0 Z32
(hole at station 80)
G0 X80 Y0
G0 A0
G0 Z21
G1 Z12 F200
G0 Z21
G0 Z12.5
G1 Z4 F200
G0 Z21
G0 Z4.5
G1 Z-4 F200
G0 Z21
G0 Z-3.5
G1 Z-12 F200
G0 Z21
G0 Z-11.5
G1 Z-22 F200
G0 Z21
G0 Z32
(hole at station 95)
G0 X95 Y0
G0 A90
G0 Z21
G1 Z12 F200
G0 Z21
G0 Z12.5
G1 Z4 F200
G0 Z21
G0 Z4.5
G1 Z-4 F200
G0 Z21
G0 Z-3.5
G1 Z-12 F200
G0 Z21
G0 Z-11.5
G1 Z-22 F200
G0 Z21
G0 Z32
M5
M30
