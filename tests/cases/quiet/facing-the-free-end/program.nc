(the free end faced: the cutter comes from outside and goes in to the axis while the blank turns)
G21 G17 G90 G94
M3 S12000
G0 Z30
G0 X41.5 Y0 A0
G0 Z22
G1 Z0 A7200 F100
G0 Z30
G0 X41
G0 Z21
G1 Z0 A0 F100
G0 Z30
M5
M30
