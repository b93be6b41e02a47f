"""What a family is given at the hand-over: where a behaviour works, and the eight weeks that follow. Pure."""
