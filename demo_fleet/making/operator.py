"""Who the invented operator is: yards, bays, people, stand-ins and suppliers."""

from datetime import date

AS_OF = date(2026, 11, 5)
BEGAN = date(2023, 11, 6)
"""The day the operator began to write readings down; older work was copied from cards."""

Rows = list[dict[str, str]]

DEPOTS = """\
depot,name,time_zone,cooling_hours_a_week,mechanics,hours_a_day,kept_free_share,hour_cost,\
outside_hour_cost,coldest_c,altitude_m,holiday_region,served_by,minutes_to_shop
NORTH,Northgate works,America/Toronto,20,2,7,15,98.00,150.00,-31,190,CA-ON,,
HARBOUR,Harbour Lane,America/Toronto,,2,8,15,98.00,150.00,-28,85,CA-ON,,
PRAIRIE,Prairie Road,America/Chicago,14,1,8,15,92.00,140.00,-36,260,US-MN,,
MILL,Mill Pond yard,America/Toronto,,,,,,,-32,240,CA-ON,NORTH,25
"""

BAYS = """\
depot,bay,kind,biggest
NORTH,N1,pit,heavy
NORTH,N2,lift,light
NORTH,N3,flat,medium
HARBOUR,H1,lift,medium
HARBOUR,H2,flat,heavy
PRAIRIE,P1,pit,heavy
PRAIRIE,P2,lift,medium
"""

CREW = """\
depot,who,mon,tue,wed,thu,fri,sat,sun,start,stop,can_do
HARBOUR,JM,,8,,4,,,,06:00,14:30,
HARBOUR,TO,,,4,,,,,13:00,21:30,new drive belt+new cap+pack cleaning+coolant test+pressure test+\
belt look-over+hose look-over+coolant correction+cooling baseline
"""

POOLS = """\
pool,most_out,spares
harbour shuttles,1,1
north vans,3,2
prairie vans,2,1
school cutaways,2,1
"""

SUPPLIERS = """\
supplier,order_days,delivery_days,email
Aldermoor Parts,Mon Tue Wed Thu Fri,Mon Tue Wed Thu Fri,orders@aldermoor.example
Kestrel Hose and Belt,Mon Thu,Wed Fri,desk@kestrelhose.example
Quarry Fluids,Mon,Thu,fluids@quarry.example
Twinlake Truck Supply,Tue Thu,Tue Fri,counter@twinlake.example
"""

CAMPAIGNS = """\
campaign,unit,service,by,where,part,paid_by
C-26-03,103,new cap,2027-01-29,own,CP-1101,recall
C-26-03,106,new cap,2027-01-29,own,CP-1101,recall
C-26-03,109,new cap,2027-01-29,own,CP-1101,recall
C-26-03,112,new cap,2027-01-29,own,CP-1101,recall
"""

AWAY = """\
start,stop,why,depot,bay,unit,pool,who,hours_left
2026-11-23,2026-11-27,holiday,,,,,JM,
2026-11-17,2026-11-17,lift inspection,,H1,,,,
2026-11-16,2026-11-27,on leave,PRAIRIE,,,,AL,
2026-11-09,2026-11-12,on hire to the county,,,407,,,
2026-11-09,2026-11-12,on hire to the county,,,417,,,
2026-11-16,2026-12-03,on hire to the county,,,417,,,
2026-11-16,2027-05-14,on hire to the county,,,407,,,
2026-11-09,2026-11-20,on charter,,,211,,,
2026-12-01,2027-02-28,laid up for the winter,,,213,,,
2026-12-21,2027-01-03,laid up over the holidays,,,312,,,
2026-12-24,2026-12-31,on charter,,,305,,,
2026-12-28,2026-12-31,winter stocktaking,NORTH,,,,,3
"""

LIMITS = """\
unit,service,km,hours,months,early_share,late_share,counts_from
506,new coolant filter,20000,,6,10,10,done
514,new coolant filter,20000,,6,10,10,done
"""
"""Filters of the trucks that run on gravel, more often than the usual limit asks."""

LAYOUT_SERVICES = """\
layout,service,own_minutes,where
diesel six medium,new fan drive,18,outside
"""
"""Work that is sent to an outside shop, which has the tool for it."""

FIXED = {
    "depots": DEPOTS,
    "bays": BAYS,
    "crew": CREW,
    "pools": POOLS,
    "suppliers": SUPPLIERS,
    "campaigns": CAMPAIGNS,
    "away": AWAY,
    "limits": LIMITS,
    "layout_services": LAYOUT_SERVICES,
}
