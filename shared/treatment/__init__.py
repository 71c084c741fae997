"""What is proposed against amblyopia: published doses, drops, a clinic's own protocols."""
