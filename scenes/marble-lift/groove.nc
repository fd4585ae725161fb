(marble lift: the helical groove, 40 to a turn, in four depths)
(cutter 2, ball 16; X0 at the pocket, Z0 on the axis)
(each depth goes six turns and a quarter in one block, and A goes on from there)
G21 G17 G90 G94
M3 S12000
G0 Z45
G0 X0 Y0 A0
(depth 1, floor at 27)
G0 Z31
G1 Z27 F200
G1 X250 A2250 F300
G0 Z45
(depth 2, floor at 24.3)
G0 X0 A2160
G0 Z31
G1 Z24.3 F200
G1 X250 A4410 F300
G0 Z45
(depth 3, floor at 21.6)
G0 X0 A4320
G0 Z31
G1 Z21.6 F200
G1 X250 A6570 F300
G0 Z45
(depth 4, floor at 19)
G0 X0 A6480
G0 Z31
G1 Z19 F200
G1 X250 A8730 F300
G0 Z45
M5
M30
