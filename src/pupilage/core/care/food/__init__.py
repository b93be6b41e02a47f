"""What the pup eats: energy, label, ration, rewards, growth, and what must not be eaten."""
