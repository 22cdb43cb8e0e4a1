from fractions import Fraction
from tests.chemistry.test_stateful import Life, Tank
from chemistry.models import Movement, Charge, Vessel
def show(s,b):
    v=Vessel.objects.get(pk=b.row)
    print("SVC",v.contents,v.basis,v.load,v.use,v.filled_at,v.level_known_at,"PAPER",b.contents,b.basis,b.load,b.looks)
def test_x(committed):
    s=Life(); b=s.begin().values
    s.wait(days=45)
    s.read(ago=9000,bottle=b[3],measured=6099); show(s,b[3])
    s.wait(days=3)
    s.check_in(ago=0, back=None, bottle=b[3], tank=Tank(rolls=3, volume=10000, use='reuse', dilution=Fraction(0), compensate=True), who=0); show(s,b[3])
    s.check_in(ago=90, back=None, bottle=b[3], tank=Tank(rolls=1, volume=3000, use='fresh', dilution=Fraction(1), compensate=True), who=0); show(s,b[3])
    for m in Movement.objects.filter(source_vessel=b[3].row)|Movement.objects.filter(target_vessel=b[3].row): print(m.entry_id & 0xffffffff, m.occurred_at, m.source, m.target, m.volume, m.source_basis, m.target_basis)
    for c in Charge.objects.filter(vessel=b[3].row): print(c.entry_id&0xffffffff, c.load, c.moved)
