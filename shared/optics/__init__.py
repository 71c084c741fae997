"""Lenses: powers at every plane, ranges, tolerances, the ledger, what an unmeasured eye needs."""
