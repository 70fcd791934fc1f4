"""What people do: one module per step at the bench, one function per action.

Each public function is one transaction and appends one event to the history of each cylinder that
it touches (one, but for a run to the lab and a twin set). It takes the time and the acting person
from its caller, raises :class:`cylinders.rules.refusal.Refused` before anything is stored, and
never asks a clock.
"""
