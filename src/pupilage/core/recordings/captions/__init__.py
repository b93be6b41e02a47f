"""Captions and transcripts: a file's bytes → words with their times."""
