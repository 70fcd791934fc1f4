"""The regulation as code: pure Python, no Django, no clock, no input or output.

A rule takes plain values (a frozen dataclass, a day, a table row) and returns a
:class:`~cylinders.rules.verdict.Finding`: what was decided, in which words, under which clause.
"""
