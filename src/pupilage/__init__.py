"""Pupilage keeps a puppy's stay with its trainer: what to teach next, and whether it will be ready."""

__version__ = "0.1.0"
