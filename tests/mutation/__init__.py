"""Mutation testing: change one thing in a rule, and see whether its tests notice.

``python -m tests.mutation water_jacket intervals threads`` makes every mutant of those modules and
runs their tests against each. It ends with 1 where a mutant survives without a reason in
``tests/mutation/reasons.py``, or where a reason is no longer needed.
"""
