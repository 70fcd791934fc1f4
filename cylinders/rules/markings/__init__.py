r"""Read what is stamped on a cylinder.

>>> import datetime as dt
>>> today = dt.date(2026, 11, 25)
>>> reading = read("DOT-3AL3000\nZ12345\nM9999 07C08\n5 A1/32 21", on=today)
>>> reading.original.spec, str(reading.original.min_test_pressure), str(reading.first_test)
('3AL', '5000 psi', '2008-07')
>>> reading.latest_requalification.rin, str(reading.latest_requalification.date)
('A123', '2021-05')
>>> read("03-05", on=today).questions[0].choices
('2005-03 (US month-year)', '2003-05 (year-month)')
"""

from cylinders.rules.markings.json_shape import as_json
from cylinders.rules.markings.marks import (
    CondemnedMark,
    DateMark,
    LifeMark,
    ManufacturerMark,
    Mark,
    MegcMark,
    OriginalMark,
    RepairMark,
    RequalificationMark,
    ThreadMark,
    UnMark,
)
from cylinders.rules.markings.reading import Dual, Question, Reading, Unread, Warned
from cylinders.rules.markings.rendering import render
from cylinders.rules.markings.scanning import read

__all__ = [
    "CondemnedMark",
    "DateMark",
    "Dual",
    "LifeMark",
    "ManufacturerMark",
    "Mark",
    "MegcMark",
    "OriginalMark",
    "Question",
    "Reading",
    "RepairMark",
    "RequalificationMark",
    "ThreadMark",
    "UnMark",
    "Unread",
    "Warned",
    "as_json",
    "read",
    "render",
]
