(A zeroed off a whole turn, but nothing is cut after that)
G21 G17 G90 G94
M3 S12000
G0 Z30
G0 X30 Y0 A0
G0 Z21
G1 Z17 F300
G1 X70 A900 F900
G0 Z30
G92 A0
G0 X0
M5
M30
