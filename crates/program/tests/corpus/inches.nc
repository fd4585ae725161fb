g20 g90 g94
m3 s8000
g0 x.5 y0 z1.5
g1 z.7 f8.
x2. a360 f40
g0 z1.5
m30
