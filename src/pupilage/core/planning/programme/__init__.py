"""The plan of a stay: which behaviour on which day until the hand-over."""
