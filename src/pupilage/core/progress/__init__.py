"""What can be shown of a pup's way: from the first day to today, behaviour by behaviour."""
