"""Reminders: planned as rows, sent by a sweep that anybody may run, any number of times.

    planned -> claimed -> sending -> sent | failed | unsure | withdrawn

The row is the truth; clock, queue and worker only wake the sweep. Two sweeps at once share the
work. A sweep that dies loses nothing: what it held is taken back when its lease has run out. A
message that was going when it died may or may not have gone; it goes once more under the same
Message-ID, and the history says so. So a receiver that folds by Message-ID sees each message once.
"""

from cylinders.operations.reminders.letters import Letter, Line, Writer
from cylinders.operations.reminders.planning import outlook, plan
from cylinders.operations.reminders.sweeping import Swept, sweep

__all__ = ["Letter", "Line", "Swept", "Writer", "outlook", "plan", "sweep"]
