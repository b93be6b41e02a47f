"""How often to reward, with what, and how soon the dog begins after a cue."""
