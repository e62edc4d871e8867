"""Times against targets, printed with their ratios: ``python -m tests.benchmarks`` (DEVELOPERS.md).

They are no tests: a machine under load must not fail a change. Wall time is what a person waits, processor
time what the work itself took; on a busy machine the second is the one to compare.
"""
