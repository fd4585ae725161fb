(marble lift: pocket finished and its lip cut)
(cutter 3, ball 6; X0 at the pocket, Z0 on the turned skin)
G21 G17 G90 G94
M3 S18000
G0 Z20
(A has wound up to 8730 in the groove: begin again at 0)
G92 A0
G0 X-7 Y-7 A0
G0 Z1
(walls and corners)
G1 Z-2.5 F250
G1 X7 F900
G1 Y7
G1 X-7
G1 Y-7
G1 Z-4.5 F250
G1 X7 F900
G1 Y7
G1 X-7
G1 Y-7
G1 Z-6 F250
G1 X7 F900
G1 Y7
G1 X-7
G1 Y-7
G1 Z-7.5 F250
G1 X7 F900
G1 Y7
G1 X-7
G1 Y-7
(floor)
G1 Y-6.4
G1 X7
G1 Y-5.8
G1 X-7
G1 Y-5.2
G1 X7
G1 Y-4.6
G1 X-7
G1 Y-4
G1 X7
G1 Y-3.4
G1 X-7
G1 Y-2.8
G1 X7
G1 Y-2.2
G1 X-7
G1 Y-1.6
G1 X7
G1 Y-1
G1 X-7
G1 Y-0.4
G1 X7
G1 Y0.2
G1 X-7
G1 Y0.8
G1 X7
G1 Y1.4
G1 X-7
G1 Y2
G1 X7
G1 Y2.6
G1 X-7
G1 Y3.2
G1 X7
G1 Y3.8
G1 X-7
G1 Y4.4
G1 X7
G1 Y5
G1 X-7
G1 Y5.6
G1 X7
G1 Y6.2
G1 X-7
(lip, onto the crest)
G0 Z1
G0 X7 Y0
G1 Z-1.3 F250
G1 X26 F900
G1 Z-2.5 F250
G1 X7 F900
G0 Z20
M5
M30
