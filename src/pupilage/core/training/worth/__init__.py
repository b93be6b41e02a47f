"""What a session adds to the chance of a goal: value tables, and the index that allocates sessions."""
