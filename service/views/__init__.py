"""The read side: one dataclass a page, worked out from facts and a stated date."""
