"""A trainer's look back over all stays: what was forecast and what came, how long goals took, own slips."""
