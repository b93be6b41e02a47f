"""What earlier dogs let us expect of the next one."""
