"""Questions answered: one file a report, each a frame in and a frame out; charts, tables and pages apart.

Reports read through `ledger.read` only. What every figure means, and where its definition comes from:
`reports/README.md`.
"""
