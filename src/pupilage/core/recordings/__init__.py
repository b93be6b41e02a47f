"""Recordings: sound and timed text → events → trials. Arrays and bytes in, events out; decoding lives at the edge."""
