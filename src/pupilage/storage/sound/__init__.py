"""The edge where sound comes in: containers are decoded here, and the speech embedding's model file is run here."""
