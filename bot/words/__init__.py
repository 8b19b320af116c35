"""Plain questions -> what they ask. The patterns are data, in the TOML tables beside the code."""
