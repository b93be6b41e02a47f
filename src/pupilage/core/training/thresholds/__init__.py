"""How long, how far, how distracting and where: what this dog can bear, and the try that tells most."""
