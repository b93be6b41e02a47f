"""Exposures: people, dogs, surfaces, sounds, handling, places and vehicles that a pup meets, a little at a time."""
