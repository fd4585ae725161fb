(rings and a spiral on a machine whose rotary axis lies along Y and is called B)
G21 G17 G90 G94
M3 S12000
G0 Z30
G0 X0 Y-20 B0
G0 Z21
G1 Z18 F300
G1 B360 F1800
G1 Y-70 B1080 F900
G1 B1440 F1800
G0 Z30
M5
M30
