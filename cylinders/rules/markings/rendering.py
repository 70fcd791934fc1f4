"""Write a mark the way it is stamped, so that reading it gives the mark back.

>>> from cylinders.rules.month import Month
>>> render(RequalificationMark(Month(2021, 5), "A123", "+"))
'5 A1/32 21+'
"""

from cylinders.rules.markings.marks import (
    STAR,
    CondemnedMark,
    DateMark,
    LifeMark,
    Mark,
    MegcMark,
    OriginalMark,
    RepairMark,
    RequalificationMark,
    UnMark,
)
from cylinders.rules.month import Month

_PERMIT_STYLE = {"exemption (older)": "E", "special permit": "SP"}


def render(mark: Mark) -> str:
    """Return ``mark`` as stamped text; ``ValueError`` for a date whose order is open.

    Years have two digits where stamps have them; the century rule of ``dates`` gives them back.
    """
    match mark:
        case OriginalMark():
            text = _original(mark)
        case UnMark():
            text = _receptacle(mark)
        case RequalificationMark():
            text = _requalification(mark)
        case DateMark():
            text = _date(mark)
        case CondemnedMark():
            text = "XXXXXXX" if mark.crossed_out else "CONDEMNED"
        case LifeMark():
            text = f"{mark.word} {_year_first(mark.date)}"
        case MegcMark():
            text = f"{mark.date} {mark.symbol}"
        case RepairMark():
            text = mark.word
        case _:  # a maker's number or a thread
            text = mark.value
    return text


def _symbols(written: str | None) -> str:
    """Return symbols as stamped: the star as a star, letters after a blank."""
    if not written:
        return ""
    if written in {"AE/UE", "UE/AE"}:
        return f" {written}"
    parts = ("\u2605" if part == STAR else part for part in written.split("/"))
    return "".join(part if part in "+\u2605" else f" {part}" for part in parts)


def _month_year(month: Month) -> str:
    return f"{month.month}-{month.year % 100:02d}"


def _year_first(month: Month) -> str:
    return f"{month.year:04d}/{month.month:02d}"


def _requalification(mark: RequalificationMark) -> str:
    rows = "/".join(mark.rows) if mark.rows else "??/??"
    year = f"{mark.date.year % 100:02d}"
    return f"{mark.date.month} {rows} {year}{_symbols(mark.symbol)}"


def _original(mark: OriginalMark) -> str:
    """Return specification, serial number, maker and first test, each on its line (178.35(f))."""
    authority = f"{mark.authority}-" if mark.authority else ""
    figure = f"{mark.service_pressure.value:f}" if mark.service_pressure else ""
    if mark.is_permit:
        style = _PERMIT_STYLE.get(mark.permit_style or "", "SP")
        head = f"{authority}{style}{mark.permit}-{figure}".rstrip("-")
    elif mark.spec == "39":
        tested = f"/{mark.test_pressure.value:f}" if mark.test_pressure else ""
        head = f"{authority}39 NRC {figure}{tested}".rstrip()
    elif mark.row.service_fixed is not None and mark.spec.endswith(("480", "480X", "ET")):
        head = f"{authority}{mark.spec}"
    else:
        head = f"{authority}{mark.spec}{figure}"
    head += "+" if mark.plus_after_pressure else ""
    if mark.ree_cc is not None:
        head += f" REE {mark.ree_cc:f}"
    lines = [head, mark.serial or "", mark.manufacturer_mark or ""]
    if mark.test_date:
        date = f"{_month_year(mark.test_date)}{_symbols(mark.symbol)}"
        lines.append(f"{mark.inspector_mark} {date}" if mark.inspector_mark else date)
    lines.append(f"ALLOY {mark.alloy}" if mark.alloy else "")
    lines.append(mark.thread or "")
    return "\n".join(line for line in lines if line)


def _receptacle(mark: UnMark) -> str:
    """Return the three lines of a UN stamp: manufacture, operation, certification (178.71(r))."""
    top = [mark.thread, mark.country_of_manufacture, mark.serial, "H" if mark.steel_h else None]
    middle = [
        f"PH{mark.test_pressure.value:f}BAR" if mark.test_pressure else None,
        f"{mark.empty_mass_kg:f}KG" if mark.empty_mass_kg else None,
        f"{mark.min_wall_mm:f}MM" if mark.min_wall_mm else None,
        f"PW{mark.working_pressure.value:f}BAR" if mark.working_pressure else None,
        f"{mark.water_capacity_l:f}L" if mark.water_capacity_l else None,
        "UW" if mark.underwater else None,
        f"FINAL {_year_first(mark.final_date)}" if mark.final_date else None,
        f"SERVICE {_year_first(mark.service_date)}" if mark.service_date else None,
    ]
    approval = f"{mark.country_approval}/{mark.approval_no}" if mark.approval_no else None
    bottom = [
        "UN" if mark.un else None,
        *mark.standards,
        approval,
        mark.inspector_mark,
        _year_first(mark.initial_date) if mark.initial_date else None,
        mark.manufacturer_mark,
    ]
    lines = (" ".join(filter(None, line)) for line in (top, middle, bottom))
    return "\n".join(line for line in lines if line)


def _date(mark: DateMark) -> str:
    """Return a date in the order in which it was written."""
    if mark.date is None:
        msg = f"the order of this date is open: {', '.join(mark.candidates)}"
        raise ValueError(msg)
    month, year = mark.date.month, mark.date.year
    by = next((sign for sign in "-./" if sign in mark.order), "/")
    text = (
        mark.order.replace(by, " ")
        .replace("YYYY", f"{year:04d}")
        .replace("YY", f"{year % 100:02d}")
    )
    text = text.replace("MM", f"{month:02d}").replace("M", f"{month}").replace(" ", by)
    inspector = f"{mark.inspector_mark} " if mark.inspector_mark else ""
    return f"{inspector}{text}{_symbols(mark.symbol)}"
