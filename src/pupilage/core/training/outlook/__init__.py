"""Whether a goal will be met at the hand-over."""
