(written by hand: no plane, no distance mode, no feed mode)
G21
M3 S12000
G0 Z30
G0 X30 Y0 A0
G0 Z21
G1 Z18 F300
G1 X70 F900
A360
X30
G0 Z30
M5
M30
