G21 G91 F100
o1 sub
#4=[#1-1]
o2 if [#4 gt 0]
G1 X1
o1 call [#4] [2]
o2 elseif [#4 eq 0]
G1 A5
o2 else
G0 Z1
o2 endif
o1 endsub [#4]
o1 call [3]
o3 while [#4 lt 2]
#4=[#4+1]
o3 continue
o3 endwhile
o4 do
G1 A1
o4 break
o4 while [1]
o5 repeat [3]
G1 X1 A90
o5 endrepeat
M2
