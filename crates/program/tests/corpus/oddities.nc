  % heading
(first) G21(second)g0x1 . 5	; to the endG1 X0,5 F100
N150/ Z-38
$H
:0001
GOO X1
X.9.
!!!
E1 U2
(open
(a (b) c)
È caf√©
O
X--1
X1e5
[1]
G1.23
G38.2 Z-5
G95
G5 X1
