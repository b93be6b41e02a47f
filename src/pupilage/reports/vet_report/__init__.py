"""The report for a veterinarian or a behaviourist as PDF/A and as a page: both from the same blocks."""
