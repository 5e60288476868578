"""Three like drivers of one chip, each on its own line, for captures of them."""

DRIVERS = """\
board "Three drivers" rev A
rail +5 5V
offsheet I[A-C] drive 74LS
U1 7406 1=IA 2=OA 3=IB 4=OB 5=IC 6=OC
R[1-3] 1k +5 O[A-C]
output "a" level OA
output "b" level OB
output "c" level OC
state rest I[A-C]=low
state a IA=high I[B-C]=low
state b IB=high I[A,C]=low
state c IC=high I[A-B]=low
"""
