"""What a dog's record lets us believe: how dogs learn and forget, the exact grid, and what it says of a step."""
