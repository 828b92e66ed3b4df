"""The steps that every LAMBDA name begins with, as they would be typed into the Name Manager.

Each is a variable and its text; a later one may use those before it. A variable is written in
small letters, looks like no cell and is called like no function; functions are in capitals.
"""

from __future__ import annotations

from cultivar_fx.catalog.dimensions import METRIC, US

LONGEST_TEXT = 100
"""Characters of a text quantity; a longer one is refused."""

# What looks blank is blank: no-break spaces, tabs and line feeds are spaces.
_TIDY = (
    'LAMBDA(any,TRIM(SUBSTITUTE(SUBSTITUTE(SUBSTITUTE(any,UNICHAR(160)," "),CHAR(9)," "),'
    'CHAR(10)," ")))'
)

# Each character by itself: not every program lets MID take a list of places.
_ONLY_DIGITS = (
    "LAMBDA(any,SUM(MAP(SEQUENCE(MAX(1,LEN(any))),"
    'LAMBDA(at,SUM(--ISERROR(FIND(MID(any,at,1),"0123456789"))))))=0)'
)

_UNSIGNED = 'LAMBDA(any,IF(ISERROR(FIND(LEFT(any),"+-")),any,MID(any,2,LEN(any))))'

# VALUE by itself would take dates, currencies and the decimal comma of a country. So it is given
# digits only, and the decimal point and the power of ten are worked out here.
_NUMERAL = (
    'LAMBDA(any,LET(size,unsigned(any),at,IFERROR(SEARCH("e",size),0),'
    'whole,IF(at,LEFT(size,at-1),size),raised,IF(at,MID(size,at+1,LEN(size)),"0"),'
    'digits,SUBSTITUTE(whole,".","",1),tens,unsigned(raised),'
    'IF(AND(digits<>"",tens<>"",LEN(tens)<4,only_digits(digits&tens)),LET('
    'places,LEN(whole)-IFERROR(FIND(".",whole),LEN(whole)),'
    'shift,IF(LEFT(raised)="-",-1,1)*VALUE(tens)-places,'
    'number,IF(LEFT(any)="-",-1,1)*VALUE(digits),'
    "IF(ABS(shift)>308,#NUM!,IF(shift>0,number*10^shift,number/10^(0-shift)))),#VALUE!)))"
)

# The longest unit that the text ends in counts; what stands before it has to be a number.
# Without a unit it is a plain number of the unit system: (number-zero)*factor/divisor.
_READ = (
    "LAMBDA(any,zero,factor,divisor,names,factors,zeros,LET(words,tidy(any),"
    'IF(words="","",IF(ISNUMBER(any),(any-zero)*factor/divisor,'
    f"IF(AND(ISTEXT(any),LEN(any)<={LONGEST_TEXT}),LET("
    "long,MAX(EXACT(RIGHT(words,LEN(names)),names)*LEN(names)),"
    "number,numeral(TRIM(LEFT(words,LEN(words)-long))),"
    "IF(long=0,(number-zero)*factor/divisor,LET("
    "hit,EXACT(RIGHT(words,long),names),start,SUM(hit*zeros),"
    "metric,(number-start)*SUM(hit*factors),"
    "IF(start=0,metric,ROUND(metric,10))))),#VALUE!)))))"
)

STEPS = (
    ("tidy", _TIDY),
    ("only_digits", _ONLY_DIGITS),
    ("unsigned", _UNSIGNED),
    ("numeral", _NUMERAL),
    ("read", _READ),
)
"""Helpers of every name."""

PICK = (
    "LAMBDA(any,IF(ROWS(any)*COLUMNS(any)=1,any,"
    "IF(OR(AND(ROWS(any)>1,down>ROWS(any)),AND(COLUMNS(any)>1,across>COLUMNS(any))),#N/A,"
    "INDEX(any,IF(ROWS(any)=1,1,down),IF(COLUMNS(any)=1,1,across)))))"
)
"""Gives the place ``down`` and ``across`` of a range; a single row or column counts for all."""

SYSTEM = (
    'LET(system,IF(ISOMITTED(units),"",IF(ROWS(units)*COLUMNS(units)=1,LOWER(tidy(units)),#VALUE!)),'
    f'IF(OR(system="",system="{METRIC}"),FALSE,IF(system="{US}",TRUE,#VALUE!)))'
)
"""Whether plain numbers are of the us system."""

_CALENDAR_DAY = (
    "LAMBDA(in_year,in_month,on_day,LET(found,DATE(in_year,in_month,on_day),"
    "IF(in_year<1900,#NUM!,IF(AND(MONTH(found)=in_month,DAY(found)=on_day),found,#VALUE!))))"
)

READ_DATE = (
    f"LAMBDA(any,LET(calendar_day,{_CALENDAR_DAY},"
    'words,tidy(any),digits,SUBSTITUTE(words,"-",""),'
    'slashes,IF(ISTEXT(any),LEN(words)-LEN(SUBSTITUTE(words,"/","")),0),'
    'IF(slashes=2,LET(cut,FIND("/",words),next_cut,FIND("/",words,cut+1),'
    "later,MID(words,cut+1,next_cut-cut-1),ending,MID(words,next_cut+1,LEN(words)),"
    'IF(AND(cut>1,cut<4,later<>"",LEN(later)<3,LEN(ending)=4,only_digits(LEFT(words,cut-1)&later&ending)),'
    "LET(in_month,VALUE(LEFT(words,cut-1)),on_day,VALUE(later),"
    "IF(OR(on_day>12,on_day=in_month),calendar_day(VALUE(ending),in_month,on_day),#VALUE!)),#VALUE!)),"
    'IF(AND(ISTEXT(any),LEN(words)=10,LEN(digits)=8,MID(words,5,1)="-",MID(words,8,1)="-"),'
    "IF(only_digits(digits),"
    "calendar_day(VALUE(LEFT(digits,4)),VALUE(MID(digits,5,2)),VALUE(RIGHT(digits,2)))"
    ',#VALUE!),read(any,0,1,1,"",1,0)))))'
)
"""Reads a date as its number: a date cell, or a text such as 2026-03-14, or 3/14/2026 where the
day is no month as well, and so no other date."""
