(through the web between the pockets: Z4 to Z-8, the point clear below)
G21 G17 G90 G94
M3 S12000
G0 Z30
G0 X50 Y0 A0
G0 Z6
G1 Z1 F200
G0 Z6
G0 Z1.5
G1 Z-3 F200
G0 Z6
G0 Z-2.5
G1 Z-8 F200
G0 Z30
M5
M30
