"""Raise, keep, lower or pause: the decision after a try, the next hold, the table for the phone."""
