(square cord groove, 3 wide, 6 a turn, floor at radius 20)
(three depths, each wound on and off in one block: nine turns, inverse time)
G21 G17 G90 G94
M3 S16000
G0 Z30
G0 X3 Y0 A0
G94
G1 Z23.5 F300
G93
G1 X57 A3240 F0.4
G94
G1 Z21.8 F300
G93
G1 X3 A0 F0.4
G94
G1 Z20 F300
G93
G1 X57 A3240 F0.4
G94
G0 Z30
G0 A0
M5
M30
