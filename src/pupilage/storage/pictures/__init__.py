"""Pictures and clips, made anew: what goes out has no byte of the file that came in but its picture and its sound."""
