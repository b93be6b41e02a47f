"""The edge where sound comes in: containers are decoded here."""
