"""Reminders: planned as rows, sent by a sweep that anybody may run, any number of times.

    planned -> claimed -> sending -> sent | failed | unsure | withdrawn

A message goes by e-mail or as a text, each on a consent of its own.

The row is the truth; clock, queue and worker only wake the sweep. Two sweeps at once share the
work. A sweep that dies loses nothing: what it held is taken back when its lease has run out. A
message that was going when it died may or may not have gone; it goes once more under the same
Message-ID, and the history says so. So a receiver that folds by Message-ID sees each message once.
"""

from cylinders.operations.reminders.indexing import look_again
from cylinders.operations.reminders.letters import (
    Letter,
    Line,
    NumberRefused,
    Text,
    TextSender,
    TryLater,
    Writer,
)
from cylinders.operations.reminders.planning import outlook, plan
from cylinders.operations.reminders.sweeping import Swept, hundreds_waiting, sweep

__all__ = [
    "Letter",
    "Line",
    "NumberRefused",
    "Swept",
    "Text",
    "TextSender",
    "TryLater",
    "Writer",
    "hundreds_waiting",
    "look_again",
    "outlook",
    "plan",
    "sweep",
]
