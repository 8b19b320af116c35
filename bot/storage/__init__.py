"""What is kept: the only part of the program that knows SQL."""
