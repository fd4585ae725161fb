% one
G21 G1 X1 A1 F100
%
G0 X2
%
