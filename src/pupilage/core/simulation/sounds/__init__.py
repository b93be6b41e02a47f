"""Sounds made from equations, seeded: clickers, whistles, dogs, voices, households, for tests, bench and weights."""
