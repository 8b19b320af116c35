"""The local trial server: the same bot among an invented community, served as a page on this machine."""
