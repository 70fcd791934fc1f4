"""The whole service against a model of plain dicts.

A state machine draws what people do, right and wrong, in any order. The model says beforehand what
each operation must answer; after each step everything that is stored is held against the model.

    world       the model: dicts, the rules of the bench restated by hand, picks
    ground      how an operation is run, refused, made to fail; the tables emptied for each example
    checks      the nine invariants
    intake, lab, assembly, ends, tags, reach, people    the rules, by the step at the bench
    machine     all of them in one

The ordinary suite runs a bounded size, always the same. The long sizes by a command:

    python -m tests.model --examples 200 --steps 30
    python -m tests.model --examples 2000 --steps 50 --seed 7

With TEST_ENGINE=postgresql the command runs on PostgreSQL.
"""
