"""What happened: events of a session, the tries folded from them, a behaviour's history."""
