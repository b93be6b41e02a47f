"""What a veterinarian or a behaviourist is given to read: what was written down in a period, counted and not judged."""
