"""Commands of the command line that are about routes. `bot.__main__` wires them."""
