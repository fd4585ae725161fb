(the spindle is switched on by hand before the start)
G21 G17 G90 G94
G0 Z30
G0 X30 Y0 A0
G0 Z21
G1 Z18 F300
G1 X70 A1440 F900
G0 Z30
M30
