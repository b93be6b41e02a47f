"""Sounds that are not words: clicks, whistles, barks and whines, runs of speech, and how good a recording is."""
