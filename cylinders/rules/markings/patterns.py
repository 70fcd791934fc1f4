r"""The shapes that a stamp's parts have, as regular expressions on folded text.

Two expressions try every shape at one place in one call: ``DIGIT_FORMS`` where a digit stands,
``LETTER_FORMS`` anywhere else; the name of the outermost group says which shape matched. Every
repetition is bounded or possessive, so a place costs constant time and a text linear time.

>>> DIGIT_FORMS.match("9 A1/32 06").lastgroup, LETTER_FORMS.match("DOT-3AL3000").lastgroup
('rows', 'original')
"""

import re

from cylinders.rules.specifications import SPECIFICATIONS


def _spec_codes() -> list[str]:
    """Return every US specification code, the longer ones first so that 3AA is not read as 3A."""
    codes = [c for c, row in SPECIFICATIONS.items() if c[0].isdigit() and not row.us_equivalent]
    spelled = [code.replace("4B240ET", "4B-?240ET") for code in codes]
    return sorted(spelled, key=lambda code: (-len(code), code))


#: a part ends before a blank, a line's end, punctuation or a symbol; before anything else (a
#: letter, a digit, a question mark for a worn character, another script) it was not read in full
_CLOSE = r"[^ \n/,;|&+\u2605\u2020*()\[\]<>'\".:-]"
_END = rf"(?!{_CLOSE}|[.,][0-9])"
_STOP = rf"(?!{_CLOSE}|[./,-][0-9])"
_GAP = r"[ ]{1,8}"
_BELOW = r"[ ]{0,4}\n[ ]{0,8}"
_JOIN = r"[ \n./-]{0,6}"
_LINE_ENDS = r"(?![^ \n])"

_AUTHORITY = r"D\.?O\.?T|I\.?C\.?C|CTC|CRC|BTC|TC"
_CODES = _spec_codes()
_SPEC = "|".join(f"{code}(?![0-9])" if code == "39" else code for code in _CODES)
_NAMED_SPEC = "|".join(code for code in _CODES if len(code) > 1 and code != "39")
_UNIT = r"PSIG?|BAR|KPA|MPA"
_FIGURE = r"(?:[0-9]{1,3}[.,][0-9]{3}|[0-9]{2,6}(?:[.,][0-9]{1,3})?)"
_NUMBER = r"[0-9]{1,6}(?:[.,][0-9]{1,6})?"
_MONTH = r"0?[1-9]|1[0-2]"
_YEAR = r"'?(?:(?:19|20)[0-9]{2}|[0-9]{2})"
_STAR = r"\u2605|[<(*]STAR[>)*]|\*{1,3}|STAR"
_SYMBOL = rf"(?:(?:{_STAR}|\+)|(?:AE[ /]UE|UE[ /]AE|AE|UE|VE|FS|S|E|F|X|V|R){_END})"
_SYMBOLS = rf"(?:[ ]{{0,3}}{_SYMBOL}){{0,3}}"
_CELL = r"[A-Z0-9?_]"

#: two dates under each other ("06-08" over "03-05") are no square: a RIN of digits needs its slash
_NO_SECOND_DATE = rf"(?![0-9]{{2}}(?:[ ]{{0,4}}\n[ ]{{0,8}}|[ ]{{1,4}})[0-9]{{2}}(?!{_CELL}))"

# --- requalification ------------------------------------------------------------------------
#: 9 A1/32 06   9A1/3206   9 A1 32 06   9 A1 <line> 32 06
_ROWS = (
    rf"(?P<rows>(?P<rows_month>[0-9]{{1,2}})(?:{_GAP}|[-.]|(?=[A-Z][0-9]/))"
    rf"\[?{_NO_SECOND_DATE}(?P<rows_top>{_CELL}{{2}})"
    rf"(?:[ ]{{0,4}}[/\n][ ]{{0,8}}|[ ]{{1,4}})(?P<rows_bottom>{_CELL}{{2}})\]?"
    rf"(?:{_GAP}|[-./]|(?<=/[0-9]{{2}}))(?P<rows_year>{_YEAR})(?P<rows_symbol>{_SYMBOLS}){_STOP})"
)
#: 9 A1 06 <line> 32
_SPLIT = (
    rf"(?P<split>(?P<split_month>[0-9]{{1,2}}){_GAP}(?P<split_top>[A-Z?_]{_CELL}){_GAP}"
    rf"(?P<split_year>{_YEAR})(?P<split_symbol>{_SYMBOLS}){_BELOW}"
    rf"(?P<split_bottom>{_CELL}{{2}}){_LINE_ENDS})"
)
#: 9 A123 06   09-A123-06   9 [A123] 06
_FOUR = (
    rf"(?P<four>(?P<four_month>[0-9]{{1,2}})(?:{_GAP}|[-./])\[?(?P<four_rin>{_CELL}{{4}})\]?"
    rf"(?:{_GAP}|[-./])(?P<four_year>{_YEAR})(?P<four_symbol>{_SYMBOLS}){_STOP})"
)
#: 9A12306
_GLUED = (
    rf"(?P<glued>(?P<glued_month>{_MONTH})(?P<glued_rin>[A-Z][0-9]{{3}})"
    rf"(?P<glued_year>[0-9]{{2}})(?P<glued_symbol>{_SYMBOLS}){_STOP})"
)
#: A1 <line> 9 06 <line> 32
_SQUARE = (
    rf"(?P<square>(?P<square_top>[A-Z]{_CELL}){_BELOW}(?P<square_month>{_MONTH}){_GAP}"
    rf"(?P<square_year>{_YEAR})(?P<square_symbol>{_SYMBOLS}){_BELOW}"
    rf"(?P<square_bottom>{_CELL}{{2}}){_LINE_ENDS})"
)

# --- dates ----------------------------------------------------------------------------------
_DAY = r"(?P<day>[0-9]{1,4}[-./][0-9]{1,2}[-./][0-9]{1,4}(?![./])" + _END + ")"
_FULL = (
    r"(?P<full>(?P<full_year>(?:19|20)[0-9]{2})(?P<full_by>[-./])(?P<full_month>[0-9]{1,2})"
    rf"(?P<full_symbol>{_SYMBOLS}){_STOP})"
)
_LATE = (
    r"(?P<late>(?P<late_month>[0-9]{1,2})(?P<late_by>[-./])(?P<late_year>(?:19|20)[0-9]{2})"
    rf"(?P<late_symbol>{_SYMBOLS}){_STOP})"
)
_PAIR = (
    r"(?P<pair>(?P<pair_first>[0-9]{2}|[0-9](?=[-./][0-9]{2}))(?P<pair_by>[-./])"
    rf"(?P<pair_second>[0-9]{{1,2}})(?P<pair_symbol>{_SYMBOLS}){_STOP}(?!\"))"
)
_LETTER = (
    rf"(?P<letter>(?P<letter_month>{_MONTH})[ ]?(?P<letter_mark>[A-Z]{{1,2}})[ ]?"
    rf"(?P<letter_year>[0-9]{{2}})(?P<letter_symbol>{_SYMBOLS}){_STOP})"
)
_INSPECTED = (
    rf"(?P<inspected>(?P<inspector>[A-Z]{{1,4}}){_GAP}"
    r"(?P<inspected_a>[0-9]{4}|[0-9]{1,2})[-./](?P<inspected_b>[0-9]{4}|[0-9]{1,2})"
    rf"(?P<inspected_symbol>{_SYMBOLS}){_STOP})"
)
_SWISS = (
    r"(?P<swiss>\u2020[ ]?(?P<swiss_first>[0-9]{1,2})(?P<swiss_by>[-./])"
    rf"(?P<swiss_second>[0-9]{{1,2}}){_STOP})"
)

# --- specifications -------------------------------------------------------------------------
_SINGLE_TRIP = (
    rf"(?P<single>(?P<single_by>{_AUTHORITY})\.?{_JOIN}39(?:[ -]{{0,3}}NRC)?"
    rf"(?:[ \n-]{{1,4}}(?P<single_sp>[0-9]{{2,5}})/(?P<single_tp>[0-9]{{2,5}}))?{_END})"
)
_ORIGINAL = (
    rf"(?P<original>(?P<authority>{_AUTHORITY})\.?(?:[ \n/-]{{1,6}}(?P<second>{_AUTHORITY})\.?)?"
    rf"{_JOIN}(?P<spec>{_SPEC})(?P<m>M)?"
    rf"(?:(?P<by>[ \n/-]{{0,6}})(?P<sp>{_FIGURE})(?:[ ]?(?P<unit>{_UNIT}))?{_END})?{_END}"
    r"(?P<plus>[ ]?\+)?)"
)
_PERMIT = (
    rf"(?P<permit>(?:(?P<permit_by>{_AUTHORITY})\.?{_JOIN})?(?P<style>SP|SU|SH|E(?![A-Z]))"
    r"[ .#-]{0,3}(?P<permit_no>[0-9]{3,10})"
    r"(?:(?P<permit_gap>[ \n/-]{1,4})(?P<permit_sp>[0-9]{2,5})"
    rf"(?:[ ]?(?P<permit_unit>{_UNIT}))?(?!{_CLOSE}|/))?{_END}(?P<permit_plus>[ ]?\+)?)"
)
_BARE = (
    rf"(?P<bare>(?P<bare_spec>{_NAMED_SPEC})(?P<bare_m>M)?[ -]{{0,3}}"
    rf"(?P<bare_sp>[0-9]{{3,6}}(?:[.,][0-9]{{1,3}})?)(?:[ ]?(?P<bare_unit>{_UNIT}))?{_END}"
    r"(?P<bare_plus>[ ]?\+)?)"
)

# --- UN receptacles -------------------------------------------------------------------------
_STANDARD = (
    r"(?P<standard>(?P<standard_by>ISO|EN)[ -]{0,2}"
    rf"(?P<standard_no>[0-9]{{4,5}}(?:-[0-9]{{1,2}})?(?::[0-9]{{4}})?){_END})"
)
_PRESSURE = (
    rf"(?P<pressure>P(?P<pressure_kind>[HW])[ ]{{0,3}}(?P<pressure_figure>{_NUMBER})[ ]?"
    rf"(?P<pressure_unit>{_UNIT})?{_END})"
)
_MEASURE = (
    rf"(?P<measure>(?P<measure_figure>{_NUMBER})[ ]?(?P<measure_unit>KG|LBS?|MM|L|BAR){_END})"
)
_VOLUME = rf"(?P<volume>V[ ]?(?P<volume_figure>{_NUMBER})[ ]?L{_END})"
_APPROVAL = (
    r"(?P<approval>(?P<approval_country>[A-Z]{1,3})/(?P<approval_no>[A-Z0-9]{2,8})"
    rf"(?!{_CLOSE}|[/-]))"
)
_LIFE = (
    r"(?P<life>(?P<life_word>FINAL|SERVICE)[ :]{1,3}(?P<life_year>(?:19|20|21)[0-9]{2})[-/]"
    rf"(?P<life_month>{_MONTH}){_END})"
)

# --- the rest -------------------------------------------------------------------------------
_FORM = r"(?:NPSM|NGS|NGT|NPT|UNF|UNC|BSP)"
_THREAD = (
    rf"[0-9]{{2}}[ETP]{_END}"
    rf"|M[0-9]{{2}}[ ]?[X*][ ]?[0-9](?:[.,][0-9]{{1,2}})?{_END}"
    rf"|[1-9]/[2-8]\"?(?:-[0-9]{{2}})?[ -]{{0,2}}{_FORM}{_END}"
    rf"|[1-9]/[2-8]\"?-1[1-8](?!{_CLOSE}|[./-])"
    rf"|[1-9]/[2-8](?:\"|[ ]?IN(?![A-Z]))?(?!{_CLOSE}|[/.-])"
)
_ALLOY = (
    r"(?P<alloy>(?:ALLOY|AA|AL)[ -]?(?P<alloy_no>[2-7][0-9]{3}A?)(?:[ -]?T[0-9]{1,3})?"
    rf"{_END})"
)
_TEMPER = rf"(?P<temper>(?P<temper_alloy>[2-7][0-9]{{3}}A?)[ -]?T[0-9]{{1,3}}{_END})"
_REE = rf"(?P<ree>R\.?E\.?E\.?[ :=]{{0,3}}(?P<ree_figure>{_NUMBER})[ ]?(?:CC|ML)?{_END})"
_MAKER = rf"(?P<maker>M[0-9]{{4}}{_END})"
_SERIAL = (
    r"(?P<serial>(?:S/N|SERIAL(?:[ ]NO)?|SER(?:[ ]NO)?|SN)[ .:#]{1,3}"
    r"(?P<serial_no>[^ \n]{1,60}))"
)
_CONDEMNED = rf"(?P<condemned>CONDEMNED{_END})"
_CROSSED = rf"(?P<crossed>X[ ]?X[ ]?X+(?:[ ]X+)*{_END}(?:[ ]{{0,3}}OVER{_END})?)"
_REPAIR = rf"(?P<repair>(?:RE-?THREAD(?:ED)?|REBUILT|REPAIRED){_END})"

DIGIT_FORMS = re.compile(
    f"{_ROWS}|{_SPLIT}|{_FOUR}|{_GLUED}|{_MEASURE}|(?P<thread>{_THREAD})"
    f"|{_DAY}|{_FULL}|{_LATE}|{_PAIR}|{_LETTER}|{_BARE}|{_TEMPER}"
)
LETTER_FORMS = re.compile(
    f"{_SINGLE_TRIP}|{_ORIGINAL}|{_PERMIT}|{_SQUARE}|{_STANDARD}|{_PRESSURE}|{_LIFE}|{_REE}"
    f"|{_VOLUME}|{_MAKER}|{_SERIAL}|{_INSPECTED}|{_APPROVAL}|{_CONDEMNED}|{_CROSSED}|{_REPAIR}|{_ALLOY}"
    f"|{_SWISS}|(?P<metric>{_THREAD})"
)
#: between marks; a hyphen before a digit is a sign unless it joins two parts of a word
SKIP = re.compile(r"(?:[ \n/,;|&()]|(?<=[^ \n])-|-(?![0-9])|[.:](?![^ \n]))*")
WORD = re.compile(r"[^ \n/,;|&]+")
#: whether the text is of a UN or ISO receptacle at all
UN_HINT = re.compile(rf"(?<![A-Z0-9])(?:UN{_END}|ISO[ -]?[0-9]|P[HW][ ]{{0,3}}[0-9])")
#: a serial number: 1 to 40 letters and digits, a digit among them
SERIAL = re.compile(r"(?=[A-Z.-]{0,39}[0-9])[A-Z0-9](?:[A-Z0-9.-]{0,38}[A-Z0-9])?")
