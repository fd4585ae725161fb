(vane cap: the square blank rounded to 74)
(cutter 1, flat 10; Z0 on the flat, so the corner stands at Z15.74 and the finished round at Z-1)
(four along to a turn, wound on and off, so that A ends where it began)
G21 G17 G90 G94
M3 S16000
G0 Z30
G0 X-1 Y0 A0
G0 Z18
G93
(pass 1, radius 51)
G1 Z13 A360 F4
G1 X113 A10800 F0.2414
G1 A11160 F7
(pass 2, radius 48.5)
G1 Z10.5 A10800 F4
G1 X-1 A360 F0.2414
G1 A0 F7
(pass 3, radius 46)
G1 Z8 A360 F4
G1 X113 A10800 F0.2414
G1 A11160 F7
(pass 4, radius 43.5)
G1 Z5.5 A10800 F4
G1 X-1 A360 F0.2414
G1 A0 F7
(pass 5, radius 41)
G1 Z3 A360 F4
G1 X113 A10800 F0.2414
G1 A11160 F7
(pass 6, radius 39)
G1 Z1 A10800 F4
G1 X-1 A360 F0.2414
G1 A0 F7
(pass 7, radius 37.5)
G1 Z-0.5 A360 F4
G1 X113 A10800 F0.2414
G1 A11160 F7
(finish)
G1 Z-1 A10800 F4
G1 X-1 A360 F0.1724
G1 A0 F5
G94
G0 Z30
M5
M30
