"""Are holes known in the packages that are pinned? ``python -m tests.audit`` asks a service for it.

It needs the network and ``pip-audit`` (``.venv/bin/pip install pip-audit``), so it is no part of
what every change must pass; whoever makes a release runs it. It leaves with 0 only where every
pinned package was looked up and none has a known hole: an audit that skipped a package, or looked
at none, has not said anything and fails.
"""
