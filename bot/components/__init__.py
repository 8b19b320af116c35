"""What answers look like and what can be pressed on them."""
