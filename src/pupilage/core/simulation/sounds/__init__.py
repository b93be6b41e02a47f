"""Sounds made from equations, seeded: clickers, whistles, dogs, voices and households for tests, benchmarks and weights."""
